package edit

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"busgauss/model/finding"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
)

// Between returns the edits of source, the text of the file of before, that make it the
// file of after: each number, axis and part of a sensor that differs is written anew at its
// place, in its unit. It is false where something that differs has no place in the file, or
// one that other objects share.
func Between(source string, before, after *layout.Layout) ([]finding.Edit, bool) {
	w := writer{source: source, ok: true}
	w.walk(reflect.ValueOf(before).Elem(), reflect.ValueOf(after).Elem())
	for i := range before.Sensors {
		if i >= len(after.Sensors) {
			return nil, false
		}
		s, t := &before.Sensors[i], &after.Sensors[i]
		if s.Part != t.Part {
			w.ok = w.ok && s.Part != layout.None && t.Part != layout.None && w.put(s.PartSpan, after.Parts[t.Part].ID)
		}
		if s.Circuit != t.Circuit {
			w.ok = w.ok && w.put(s.ReadsSpan, after.Circuits[t.Circuit].ID)
		}
	}
	return w.edits, w.ok && len(w.edits) > 0
}

// writer collects edits.
type writer struct {
	source string
	edits  []finding.Edit
	ok     bool
}

var (
	typeOfNum  = reflect.TypeFor[layout.Num]()
	typeOfForm = reflect.TypeFor[layout.Form]()
	typeOfAxis = reflect.TypeFor[layout.Axis]()
	typeOfSpan = reflect.TypeFor[span.Span]()
)

// walk goes through two layouts side by side. Numbers that no text of the file holds are
// left to Same.
func (w *writer) walk(a, b reflect.Value) {
	if !w.ok || a.Type() == typeOfSpan {
		return
	}
	switch a.Type() {
	case typeOfNum:
		w.number(a.Interface().(layout.Num), b.Interface().(layout.Num))
		return
	case typeOfForm:
		f, g := a.Interface().(layout.Form), b.Interface().(layout.Form)
		if !f.SlitM.Set && g.SlitM.Set {
			w.ok = w.add(f.WallM.Span, "slit", g.SlitM.V)
			f.SlitM = g.SlitM
			a = reflect.ValueOf(f)
		}
	case typeOfAxis:
		w.axis(a.Interface().(layout.Axis), b.Interface().(layout.Axis))
		return
	}
	switch a.Kind() {
	case reflect.Pointer:
		if a.IsNil() != b.IsNil() {
			w.ok = false
		} else if !a.IsNil() && a.Pointer() != b.Pointer() {
			w.walk(a.Elem(), b.Elem())
		}
	case reflect.Slice:
		if a.Len() != b.Len() {
			w.ok = false
			return
		}
		if a.Len() == 0 || a.Pointer() == b.Pointer() {
			return
		}
		for i := range a.Len() {
			w.walk(a.Index(i), b.Index(i))
		}
	case reflect.Array:
		for i := range a.Len() {
			w.walk(a.Index(i), b.Index(i))
		}
	case reflect.Struct:
		for i := range a.NumField() {
			w.walk(a.Field(i), b.Field(i))
		}
	}
}

func (w *writer) number(a, b layout.Num) {
	if near(a.V, b.V, 1e-9, 1e-10) {
		return
	}
	if !a.Set {
		w.ok = false
		return
	}
	text, ok := si.Rewritten(strings.Trim(Text(w.source, a.Span), `"'`), b.V)
	w.ok = ok && w.put(a.Span, text)
}

func (w *writer) axis(a, b layout.Axis) {
	if a.AngleRad.Set {
		w.number(a.AngleRad, b.AngleRad)
		return
	}
	if near(a.U.X, b.U.X, 0, 1e-9) && near(a.U.Y, b.U.Y, 0, 1e-9) && near(a.U.Z, b.U.Z, 0, 1e-9) {
		return
	}
	pure := func(v float64) string { return strconv.FormatFloat(math.Round(v*1e6)/1e6+0, 'f', -1, 64) }
	w.ok = w.put(a.Span, fmt.Sprintf("[%s, %s, %s]", pure(b.U.X), pure(b.U.Y), pure(b.U.Z)))
}

// add writes a length under a new key behind a member that stands at s: behind a comma in braces, else on a line
// of its own.
func (w *writer) add(s span.Span, key string, lengthM float64) bool {
	text, ok := si.Rewritten("0 mm", lengthM)
	lines := strings.SplitAfter(w.source, "\n")
	if !ok || s.End.Line > len(lines) || Text(w.source, s) == "" {
		return false
	}
	line := lines[s.End.Line-1]
	rest := strings.TrimLeft(string([]rune(line)[s.End.Column-1:]), " ")
	at := s.End
	switch {
	case rest != "" && strings.ContainsAny(rest[:1], ",}"):
		text = ", " + key + ": " + text
	case strings.HasSuffix(line, "\n"):
		at = span.Pos{Line: s.End.Line + 1, Column: 1}
		text = line[:len(line)-len(strings.TrimLeft(line, " "))] + key + ": " + text + "\n"
	default:
		return false
	}
	w.edits = append(w.edits, finding.Edit{Span: span.Span{File: s.File, Start: at, End: at}, Text: text})
	return true
}

// put replaces the text at s, in the quotes that it has; false where there is none.
func (w *writer) put(s span.Span, text string) bool {
	old := Text(w.source, s)
	if old == "" {
		return false
	}
	if q := old[:1]; (q == `"` || q == "'") && len(old) > 1 && strings.HasSuffix(old, q) {
		text = q + text + q
	}
	w.edits = append(w.edits, finding.Edit{Span: s, Text: text})
	return true
}

// near reports whether two numbers agree; NaN agrees with NaN.
func near(a, b, share, most float64) bool {
	return a == b || math.IsNaN(a) && math.IsNaN(b) || math.Abs(a-b) <= max(share*math.Abs(a), most)
}

// Same reports whether two layouts say the same but for places in the file and for the
// rounding of Between.
func Same(a, b *layout.Layout) bool {
	moved := *b
	moved.Path = a.Path
	b = &moved
	return alike(reflect.ValueOf(a).Elem(), reflect.ValueOf(b).Elem(), 1e-5, 2e-6)
}

// alike compares all but spans, paths and titles; numbers to a share or an amount.
func alike(a, b reflect.Value, share, most float64) bool {
	if a.Type() == typeOfSpan {
		return true
	}
	switch a.Kind() {
	case reflect.Pointer:
		if a.IsNil() || b.IsNil() {
			return a.IsNil() == b.IsNil()
		}
		return alike(a.Elem(), b.Elem(), share, most)
	case reflect.Slice, reflect.Array:
		if a.Len() != b.Len() {
			return false
		}
		for i := range a.Len() {
			if !alike(a.Index(i), b.Index(i), share, most) {
				return false
			}
		}
		return true
	case reflect.Struct:
		for i := range a.NumField() {
			if !alike(a.Field(i), b.Field(i), share, most) {
				return false
			}
		}
		return true
	case reflect.Float64:
		return near(a.Float(), b.Float(), share, most)
	case reflect.String:
		return a.String() == b.String()
	case reflect.Bool:
		return a.Bool() == b.Bool()
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return a.Int() == b.Int()
	case reflect.Uint, reflect.Uint8, reflect.Uint16, reflect.Uint32, reflect.Uint64:
		return a.Uint() == b.Uint()
	case reflect.Float32, reflect.Complex64, reflect.Complex128, reflect.Map, reflect.Interface, reflect.Func:
		panic("edit: a layout holds what is not compared")
	}
	panic("edit: a layout holds what is not compared")
}

// Shared returns l with the bars, circuits, shields and materials of the layouts given in the place of
// its own that are alike to rounding, so that fields that were solved for those serve l too.
func Shared(l *layout.Layout, from ...*layout.Layout) *layout.Layout {
	out := *l
	for _, f := range from {
		adopt(&out.Bars, f.Bars)
		adopt(&out.Circuits, f.Circuits)
		adopt(&out.Shields, f.Shields)
		adopt(&out.Materials, f.Materials)
	}
	return &out
}

func adopt[T any](own *[]T, other []T) {
	if alike(reflect.ValueOf(*own), reflect.ValueOf(other), 1e-12, 1e-15) {
		*own = other
	}
}
