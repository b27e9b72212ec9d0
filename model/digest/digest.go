// Package digest names values by all that they hold.
package digest

import (
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"hash"
	"math"
	"reflect"
	"slices"
)

// Of returns a digest of values: 64 hexadecimal digits. It covers everything that they hold, behind pointers and in fields
// that are not exported too, with the types and the names of the fields, so that a field that is added later is
// covered without a word of its own. Floating numbers count by their bits: 0 is not −0, and any NaN
// is itself alone. A nil slice is an empty one, and a nil map is not. The order in which a map holds its keys does not count.
//
// It panics at a function or a channel that is not nil, which hold what nobody can name, and does not come to an end on
// values that hold themselves.
func Of(values ...any) string {
	w := writer{sum: sha256.New()}
	for _, v := range values {
		w.value(reflect.ValueOf(v))
	}
	return hex.EncodeToString(w.sum.Sum(nil))
}

type writer struct{ sum hash.Hash }

func (w *writer) number(n uint64) { w.sum.Write(binary.BigEndian.AppendUint64(nil, n)) } // a hash takes everything

func (w *writer) text(s string) {
	w.number(uint64(len(s)))
	w.sum.Write([]byte(s))
}

// value adds the type of v and what it holds, so that no two values write alike.
func (w *writer) value(v reflect.Value) {
	if !v.IsValid() { // nil in an interface
		w.text("nil")
		return
	}
	w.text(v.Type().String())
	switch v.Kind() {
	case reflect.Bool:
		n := uint64(0)
		if v.Bool() {
			n = 1
		}
		w.number(n)
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		w.number(uint64(v.Int()))
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64, reflect.Uintptr:
		w.number(v.Uint())
	case reflect.Float32, reflect.Float64:
		w.number(math.Float64bits(v.Float()))
	case reflect.Complex64, reflect.Complex128:
		w.number(math.Float64bits(real(v.Complex())))
		w.number(math.Float64bits(imag(v.Complex())))
	case reflect.String:
		w.text(v.String())
	case reflect.Map, reflect.Pointer, reflect.Interface, reflect.Func, reflect.Chan, reflect.UnsafePointer:
		w.held(v)
	case reflect.Slice, reflect.Array:
		w.items(v)
	case reflect.Struct:
		for i := range v.NumField() {
			w.text(v.Type().Field(i).Name)
			w.value(v.Field(i))
		}
	}
}

// held adds what may be nil.
func (w *writer) held(v reflect.Value) {
	if v.IsNil() {
		w.text("nil")
		return
	}
	w.text("held")
	switch v.Kind() {
	case reflect.Map:
		w.entries(v)
	case reflect.Pointer, reflect.Interface:
		w.value(v.Elem())
	default:
		panic(fmt.Sprintf("digest: a %s has none", v.Type()))
	}
}

func (w *writer) items(v reflect.Value) {
	w.number(uint64(v.Len()))
	for i := range v.Len() {
		w.value(v.Index(i))
	}
}

// entries adds a map by the digests of its keys.
func (w *writer) entries(v reflect.Value) {
	type entry struct{ key, value string }
	var all []entry
	for _, k := range v.MapKeys() {
		all = append(all, entry{of(k), of(v.MapIndex(k))})
	}
	slices.SortFunc(all, func(a, b entry) int { return cmp.Or(cmp.Compare(a.key, b.key), cmp.Compare(a.value, b.value)) })
	w.number(uint64(len(all)))
	for _, e := range all {
		w.text(e.key)
		w.text(e.value)
	}
}

func of(v reflect.Value) string {
	w := writer{sum: sha256.New()}
	w.value(v)
	return string(w.sum.Sum(nil))
}
