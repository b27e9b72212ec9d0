package page

import (
	"reflect"

	"busgauss/model/finding"
	"busgauss/rules/audit"
)

// cleaned returns a copy of p in which every text is safe to show: controls of line,
// colour and direction are visible. Numbers are shared with p.
func cleaned(p *audit.Page) *audit.Page { return clean(p) }

// clean returns a copy of x in which every text is safe to show.
func clean[T any](x T) T { return cleanValue(reflect.ValueOf(x)).Interface().(T) }

func cleanValue(v reflect.Value) reflect.Value {
	switch v.Kind() {
	case reflect.String:
		out := reflect.New(v.Type()).Elem()
		out.SetString(finding.Clean(v.String()))
		return out
	case reflect.Pointer:
		if v.IsNil() {
			return v
		}
		out := reflect.New(v.Type().Elem())
		out.Elem().Set(cleanValue(v.Elem()))
		return out
	case reflect.Struct:
		if !textual(v.Type()) {
			return v
		}
		out := reflect.New(v.Type()).Elem()
		out.Set(v)
		for i := range v.NumField() {
			out.Field(i).Set(cleanValue(v.Field(i)))
		}
		return out
	case reflect.Slice:
		if v.IsNil() || !textual(v.Type().Elem()) {
			return v
		}
		out := reflect.MakeSlice(v.Type(), v.Len(), v.Len())
		for i := range v.Len() {
			out.Index(i).Set(cleanValue(v.Index(i)))
		}
		return out
	}
	return v
}

// textual reports whether a type can hold a text, so that long lists of numbers are
// passed over.
func textual(t reflect.Type) bool {
	switch t.Kind() {
	case reflect.String:
		return true
	case reflect.Pointer, reflect.Slice:
		return textual(t.Elem())
	case reflect.Struct:
		for i := range t.NumField() {
			if textual(t.Field(i).Type) {
				return true
			}
		}
	}
	return false
}
