package compare

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/si"
	"busgauss/model/span"
)

// leaf is one value of a layout: where it stands, in words, and what it is, as
// text. Equal texts are equal values. The value that says where an object stands
// has the path placeOf.
type leaf struct{ path, text string }

const placeOf = "at"

// digits is how many of a number are looked at: what round-off moves is no change.
const digits = 6

// flattener turns parts of one layout into leaves. Places in the file, and values
// that the program derives from others, are left out, so that a file which was
// only laid out anew has the leaves that it had.
type flattener struct {
	l *layout.Layout
	// renamed gives the names that objects have on the other side.
	renamed names
}

// names gives, for each kind of object, names after a change by those before it.
type names map[string]map[string]string

// of returns the name after a change of an object of that kind.
func (n names) of(kind, name string) string {
	if after, ok := n[kind][name]; ok {
		return after
	}
	return name
}

// any returns the name after a change of an object whose kind is not known.
func (n names) any(name string) string {
	for _, kind := range []string{"sensor", "bar", "circuit", "shield", "duty", "part", "material"} {
		if after, ok := n[kind][name]; ok {
			return after
		}
	}
	return name
}

// derived are fields that follow from others, and labels, by type.
var derived = map[string][]string{
	"Bar":            {"ID", "SigmaSPerM", "AlphaPerK", "MuRel"},
	"Shield":         {"ID"},
	"Material":       {"ID"},
	"Sensor":         {"ID"},
	"Pair":           {"OutRad"}, // 0 in every file
	"Part":           {"ID"},
	"Duty":           {"ID"},
	"Wire":           {"ID"},
	"Magnet":         {"ID"},
	"Need":           {"Channel"},
	"Calibration":    {"Channel"},
	"ChannelReadout": {"Channel"},
	"Circuit":        {"ID"},
	"Member":         {"Bar"},
	"Current":        {"Circuit"},
	"Stage":          {"Given", "OfChannel"},
	"Readout":        {"Given"},
	"Surroundings":   {"Given"},
}

// kindWords are the words for kinds that have no text of their own.
var kindWords = map[reflect.Type][]string{
	reflect.TypeFor[layout.SectionKind](): {"", "rectangle", "round", "outline"},
	reflect.TypeFor[layout.CircuitKind](): {"", "series", "parallel", "parallel, declared shares"},
	reflect.TypeFor[layout.FormKind]():    {"", "channel", "plate", "ring", "outline"},
	reflect.TypeFor[layout.CutKind]():     {"", "neck", "notch", "hole", "slot"},
	reflect.TypeFor[layout.MagnetKind]():  {"", "disc", "block"},
}

// leaves returns the values of v below path, in the order of its fields.
func (f flattener) leaves(v reflect.Value, path, field string) []leaf {
	if text, ok := f.simple(v, field); ok {
		if text == "" {
			return nil
		}
		return []leaf{{path, text}}
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			return nil
		}
		return f.leaves(v.Elem(), path, field)
	case reflect.Slice, reflect.Array:
		return f.list(v, path)
	case reflect.Struct:
		return f.fields(v, path)
	}
	panic("compare: a layout holds a kind of value that is not known")
}

func (f flattener) fields(v reflect.Value, path string) []leaf {
	var out []leaf
	t := v.Type()
	for i := range t.NumField() {
		name := t.Field(i).Name
		switch {
		case !t.Field(i).IsExported(), isSpan(t.Field(i).Type), slices.Contains(derived[t.Name()], name),
			strings.HasSuffix(name, "Set") && t.Field(i).Type.Kind() == reflect.Bool,
			// A direction is said by its angle where the file gives one, a metal
			// by the material where it is one of the file.
			t.Name() == "Axis" && name == "U" && v.FieldByName("AngleRad").FieldByName("Set").Bool(),
			// A bar that no circuit names is one by itself, a sign is said where it turns.
			t.Name() == "Sensor" && (name == "Circuit" || name == "Leg") && f.single(v.FieldByName("Circuit")),
			name == "Sign" && v.Field(i).Float() == 1, name == "Signs" && v.Field(i).Interface() == [3]float64{1, 1, 1},
			t.Name() == "Bar" && name == "Metal" && v.FieldByName("Material").Int() != layout.None:
			continue
		case t.Field(i).Anonymous, name == "Amount", name == "Stages":
			out = append(out, f.leaves(v.Field(i), path, "")...)
			continue
		}
		word, _ := wordsOf(name)
		if path != "" {
			word = path + " " + word
		}
		out = append(out, f.leaves(v.Field(i), word, name)...)
	}
	return out
}

// isSpan reports whether a type is a place in the file, or a list of them.
func isSpan(t reflect.Type) bool {
	if t.Kind() == reflect.Slice || t.Kind() == reflect.Array {
		t = t.Elem()
	}
	return t == reflect.TypeFor[span.Span]()
}

// list returns the leaves of the elements; what has a name goes by it, all else
// by its number.
func (f flattener) list(v reflect.Value, path string) []leaf {
	if v.Len() > 0 {
		if _, ok := f.simple(v.Index(0), ""); ok {
			var texts []string
			for i := range v.Len() {
				text, _ := f.simple(v.Index(i), "")
				texts = append(texts, text)
			}
			return []leaf{{path, strings.Join(texts, ", ")}}
		}
	}
	var out []leaf
	for i := range v.Len() {
		e := v.Index(i)
		name := strconv.Itoa(i + 1)
		if label := f.label(e); label != "" {
			name = strconv.Quote(label)
		}
		out = append(out, f.leaves(e, path+" "+name, "")...)
	}
	return out
}

// label returns the name that an element of a list has, empty when it has none.
func (f flattener) label(e reflect.Value) string {
	if e.Kind() != reflect.Struct {
		return ""
	}
	if v := e.FieldByName("ID"); v.IsValid() {
		return v.String()
	}
	if v := e.FieldByName("Channel"); v.IsValid() && v.Kind() == reflect.String {
		return f.renamed.of("sensor", v.String())
	}
	if v := e.FieldByName("Bar"); v.IsValid() && v.Type() == reflect.TypeFor[layout.BarIndex]() {
		return f.nameAt("bar", v, "bar")
	}
	if v := e.FieldByName("Circuit"); v.IsValid() && v.Type() == reflect.TypeFor[layout.CircuitIndex]() {
		text, _ := f.simple(v, "")
		return text
	}
	if v := e.FieldByName("Between"); v.IsValid() && v.Type() == reflect.TypeFor[[2]string]() {
		return f.renamed.any(v.Index(0).String()) + " to " + f.renamed.any(v.Index(1).String())
	}
	return ""
}

// simple returns the text of a value that is one leaf; ok is false for all
// others. The text is empty where the file does not give the value.
func (f flattener) simple(v reflect.Value, field string) (text string, ok bool) {
	_, unit := wordsOf(field)
	switch x := v.Interface().(type) {
	case layout.Num:
		if !x.Set {
			return "", true
		}
		return number(x.V, unit), true
	case layout.Place:
		if !x.X.Set && !x.Y.Set {
			return "", true
		}
		parts := []string{number(x.X.V, "m"), number(x.Y.V, "m")}
		if x.Z.Set {
			parts = append(parts, number(x.Z.V, "m"))
		}
		return "[" + strings.Join(parts, ", ") + "]", true
	case geom.Point:
		return "[" + number(x.X, "m") + ", " + number(x.Y, "m") + "]", true
	case geom.Point3:
		return "[" + number(x.X, "1") + ", " + number(x.Y, "1") + ", " + number(x.Z, "1") + "]", true
	case layout.CurvePoint:
		return "[" + number(x.FieldAPerM, "A/m") + ", " + number(x.FluxDensityT, "T") + "]", true
	case layout.BarIndex:
		return f.nameAt("bar", v, "bar"), true
	case layout.CircuitIndex:
		if f.single(v) {
			return f.nameAt("circuit", v, "bar"), true
		}
		return f.nameAt("circuit", v, "circuit"), true
	case layout.ShieldIndex:
		return f.nameAt("shield", v, "shield"), true
	case layout.MaterialIndex:
		return f.nameAt("material", v, "material"), true
	case layout.PartIndex:
		return f.nameAt("part", v, "part"), true
	case layout.SensorIndex:
		return f.nameAt("sensor", v, "sensor"), true
	}
	if words, ok := kindWords[v.Type()]; ok {
		return words[min(int(v.Uint()), len(words)-1)], true
	}
	if s, ok := v.Interface().(fmt.Stringer); ok {
		return s.String(), true
	}
	switch v.Kind() {
	case reflect.String:
		return v.String(), true
	case reflect.Bool:
		if v.Bool() {
			return "yes", true
		}
		return "", true
	case reflect.Float64:
		if math.IsNaN(v.Float()) {
			return "", true
		}
		return number(v.Float(), unit), true
	case reflect.Int, reflect.Int8, reflect.Int16, reflect.Int32, reflect.Int64:
		return strconv.FormatInt(v.Int(), 10), true
	case reflect.Uint8:
		return strconv.FormatUint(v.Uint(), 10), true
	case reflect.Struct:
		// A Choice has a value, whether it is set, and a place.
		if set := v.FieldByName("Set"); set.IsValid() && v.NumField() == 3 && v.FieldByName("V").IsValid() {
			if !set.Bool() {
				return "", true
			}
			if text, ok := f.simple(v.FieldByName("V"), field); ok {
				return orNo(text), true
			}
		}
	}
	return "", false
}

// orNo is what a choice says that is set to nothing.
func orNo(text string) string {
	if text == "" {
		return "no"
	}
	return text
}

// single reports whether the circuit that an index points to is a bar by itself.
func (f flattener) single(v reflect.Value) bool {
	i := int(v.Int())
	return i < 0 || i >= len(f.l.Circuits) || f.l.Circuits[i].Kind == layout.Single
}

// nameAt returns the name of the object that an index points to, as objects of kind
// are called on the other side; empty for none.
func (f flattener) nameAt(list string, v reflect.Value, kind string) string {
	i := int(v.Int())
	objects := reflect.ValueOf(*f.l).FieldByName(map[string]string{
		"bar": "Bars", "circuit": "Circuits", "shield": "Shields", "material": "Materials", "part": "Parts",
		"sensor": "Sensors",
	}[list])
	if i >= 0 && i < objects.Len() {
		return f.renamed.of(kind, objects.Index(i).FieldByName("ID").String())
	}
	return ""
}

// number prints a value with up to six digits, as short as it goes.
func number(v float64, unit string) string {
	if v == 0 && unit == "m" {
		return "0 mm" // as layouts write it
	}
	text := si.FormatDigits(v, unit, digits)
	head, tail, _ := strings.Cut(text, " ")
	if strings.Contains(head, ".") && !strings.Contains(head, "e") {
		head = strings.TrimRight(strings.TrimRight(head, "0"), ".")
	}
	if tail == "" {
		return head
	}
	return head + " " + tail
}

// units are the ends of field names that name a unit, longer ones first.
var units = []struct{ end, unit string }{
	{"VPerRtHz", "V/√Hz"}, {"APerCount", "A"}, {"APerM", "A/m"}, {"SPerM", "S/m"}, {"VPerT", "V/T"}, {"VPerK", "V/K"}, {"PerCountA", "A"},
	{"VPT", "V/T"}, {"APM", "A/m"}, {"PerK", "1/K"}, {"Ohm", "ohm"}, {"Rad", "rad"}, {"RMSA", "A"}, {"DCA", "A"}, {"Hz", "Hz"}, {"As", "As"}, {"M2", "m2"},
	{"M", "m"}, {"A", "A"}, {"T", "T"}, {"V", "V"}, {"S", "s"}, {"C", "degC"}, {"K", "K"}, {"H", "H"},
}

// words are names of fields that do not read as they stand.
var words = map[string]string{
	"RMSA": "rms", "DCA": "dc", "XM": "x", "YM": "y", "ZM": "z", "FreqHz": "frequency",
	"MuRel": "relative permeability", "RMSAPerM": "rms", "PeakAPerM": "peak",
	"U": "direction", "At": placeOf, "PerCountA": "per count", "SlopeAPerCount": "slope", "SensitivityPerK": "sensitivity drift", "OffsetVPerK": "offset drift", "NoiseVPerRtHz": "noise density", "AlphaPerK": "temperature coefficient",
	"SaturationPerK": "saturation coefficient",
}

// wordsOf turns the name of a field into words and the unit that it ends in, "1"
// when there is none: "LinearHighT" is "linear high" in T.
func wordsOf(field string) (text, unit string) {
	unit = "1"
	rest := field
	for _, u := range units {
		head, ok := strings.CutSuffix(field, u.end)
		if !ok || len(u.end) == 1 && head != "X" && head != "Y" && (head == "" || !unicode.IsLower(rune(head[len(head)-1]))) {
			continue
		}
		rest, unit = head, u.unit
		break
	}
	if w, ok := words[field]; ok {
		return w, unit
	}
	var out strings.Builder
	for i, c := range rest {
		if unicode.IsUpper(c) && i > 0 {
			out.WriteByte(' ')
		}
		out.WriteRune(unicode.ToLower(c))
	}
	return strings.ReplaceAll(out.String(), "tol", "tolerance"), unit
}
