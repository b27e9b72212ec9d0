package fem

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"busgauss/model/geom"
	"busgauss/model/material"
)

// inquiry is one question of a solution, and its answer as text with all bits.
type inquiry struct {
	name string
	ask  func(*Solution) string
}

func bits(values ...float64) string {
	out := ""
	for _, v := range values {
		out += fmt.Sprintf(" %x", math.Float64bits(v))
	}
	return out
}

// inquiries are questions of every kind, at places in air and in metal; some come twice, rough and with their bound.
func inquiries(p *Problem) []inquiry {
	var out []inquiry
	add := func(name string, ask func(*Solution) string) { out = append(out, inquiry{name, ask}) }
	places := []geom.Point{{X: 2e-4, Y: 5e-3}, {X: -2e-4, Y: 5e-3}, {Y: 5.3e-3}, {X: 3e-3, Y: 6e-3}, {X: 10e-3, Y: 2e-3}, {X: 0.1, Y: 0.2}, p.Sensors[1]}
	for _, q := range places {
		for src := range 3 {
			add(fmt.Sprint("B ", q, src), func(s *Solution) string { x, y, b := s.B(q, src); return bits(append(parts(x, y), b)...) })
			add(fmt.Sprint("rough ", q, src), func(s *Solution) string { return bits(parts(s.Rough(q, src))...) })
		}
		add(fmt.Sprint("uniform ", q), func(s *Solution) string { x, y, b := s.Uniform(q, 1); return bits(append(parts(x, y), b)...) })
		add(fmt.Sprint("sketch ", q), func(s *Solution) string { return bits(parts(s.Sketch(q, 1))...) })
	}
	for _, currents := range [][]complex128{{1, -0.5, -0.5}, {2, 1i, -1}, {1, 0, 0, 0.1, 0}} {
		add(fmt.Sprint("wall ", currents), func(s *Solution) string {
			w, err := s.Wall(1, currents)
			if err != nil {
				return err.Error()
			}
			rms, bound := w.Rms()
			return bits(w.PeakT, w.PeakBoundT, w.At.X, w.At.Y, rms, bound)
		})
		add(fmt.Sprint("losses ", currents), func(s *Solution) string { return bits(s.LossesWPerM(currents[:3])...) })
	}
	add("resistance", func(s *Solution) string { return fmt.Sprintf("%x", s.Resistance(2)) })
	add("impedance", func(s *Solution) string { return bits(parts(s.ImpedanceOhmPerM(0, 1))...) })
	add("eddy currents", func(s *Solution) string { return fmt.Sprintf("%x", s.EddyCurrents()) })
	add("filaments", func(s *Solution) string { return fmt.Sprintf("%x", s.Filaments()) })
	add("method", func(s *Solution) string { return fmt.Sprint(s.Method, s.Unknowns, s.Levels) })
	return out
}

// Whatever was asked in an earlier run, in whatever order, a solution with its answers says to the last digit what one without
// says; and where nothing else is asked it is not made.
func TestAnswers(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 5))
	for _, hz := range []float64{0, 50} {
		p := threeBars(3000)
		all := inquiries(p)
		shuffled := func() []inquiry {
			out := append([]inquiry(nil), all...)
			random.Shuffle(len(out), func(i, k int) { out[i], out[k] = out[k], out[i] })
			return out
		}
		kept := map[string][]byte{}
		load := func(key string) ([]byte, bool) { b, ok := kept[key]; return b, ok }
		// The first run asks a third of it, the second and the third all in other orders, the last as the third.
		third := shuffled()
		for run, list := range [][]inquiry{shuffled()[:len(all)/3], shuffled(), third, third} {
			answers := NewAnswers(load)
			of := func(opt Options) *Solution {
				t.Helper()
				opt.Meshes = &Meshes{}
				low, err := Solve(p, hz, opt)
				if err != nil {
					t.Fatal(err)
				}
				opt.Like = low
				s, err := Solve(threeBars(200), hz, opt)
				if err != nil {
					t.Fatal(err)
				}
				return s
			}
			plain, with := of(Options{}), of(Options{Answers: answers})
			if made := with.engine.(*keptEngine).made(); made != (run == 0) {
				t.Errorf("%g Hz, run %d: made before anything is asked: %v", hz, run, made)
			}
			for _, q := range list {
				if got, want := q.ask(with), q.ask(plain); got != want || want == "" {
					t.Errorf("%g Hz, run %d, %s: %s, want %s", hz, run, q.name, got, want)
				}
			}
			_, changed := answers.Changed()
			if run == 3 && len(changed) > 0 {
				t.Errorf("%g Hz: what is known already changes %d tables", hz, len(changed))
			}
			maps.Copy(kept, changed)
		}
		known, err := Solve(p, hz, Options{Answers: NewAnswers(load)})
		if err != nil {
			t.Fatal(err)
		}
		if known.engine.(*keptEngine).made() {
			t.Errorf("%g Hz: a problem that was solved is solved again", hz)
		}
	}
}

// A table that is cut short or damaged knows nothing, or what it holds.
func TestTable(t *testing.T) {
	a := newTable()
	a.put("one", []float64{1, math.NaN(), math.Copysign(0, -1)})
	a.put("two", nil)
	body, changed := a.bytes()
	if !changed {
		t.Fatal("nothing changed")
	}
	b := newTable()
	b.read(body)
	again, _ := b.get("one")
	if _, ok := b.get("two"); !ok || bits(again...) != bits(1, math.NaN(), math.Copysign(0, -1)) {
		t.Errorf("read %v", b.answers)
	}
	if _, changed := b.bytes(); changed {
		t.Error("reading is a change")
	}
	for n := range body {
		c := newTable()
		c.read(body[:n])
		if len(c.answers) > 1 {
			t.Errorf("%d of %d bytes: %v", n, len(body), c.answers)
		}
	}
}

// Every field of a problem and of the options changes the key, found by reflection, so that no field that comes later is forgotten.
func TestKeyOf(t *testing.T) {
	curve, err := material.SaturationCurve(2000, 2)
	if err != nil {
		t.Fatal(err)
	}
	p := threeBars(500)
	p.Bonded = [][]int{{0, 3}}
	p.Pieces[0].Round = &Round{OuterM: 2, InnerM: 1, SlitM: 0.1, TurnRad: 1, Centre: geom.Point{X: 1, Y: 1}}
	p.Pieces[0].Region.Holes = []geom.Polygon{{{X: 1, Y: 1}}}
	p.Pieces[0].Curve = curve
	p.Pieces = p.Pieces[:1] // each field once
	p.Sensors = p.Sensors[:1]
	opt := Options{}.resolved()
	key := func(hz float64) string {
		k, ok := keyOf(p, hz, opt)
		if !ok {
			t.Fatal("no key")
		}
		return k
	}
	seen := map[string]string{key(50): "nothing"}
	differs := func(what string, hz float64) {
		t.Helper()
		k := key(hz)
		if was, twice := seen[k]; twice {
			t.Errorf("%s and %s have one key", what, was)
		}
		seen[k] = what
	}
	differs("frequency", 60)
	count := 0
	var walk func(v reflect.Value, path string)
	walk = func(v reflect.Value, path string) {
		switch v.Kind() {
		case reflect.Pointer:
			if v.IsNil() {
				t.Errorf("%s is nil: fill it", path)
				return
			}
			walk(v.Elem(), path)
			was := reflect.ValueOf(v.Interface())
			v.SetZero()
			differs(path+" gone", 50)
			v.Set(was)
		case reflect.Struct:
			for i := range v.NumField() {
				if f := v.Type().Field(i); f.IsExported() {
					walk(v.Field(i), path+"."+f.Name)
				}
			}
		case reflect.Slice:
			if v.Len() == 0 {
				t.Errorf("%s is empty: fill it", path)
			}
			for i := range v.Len() {
				walk(v.Index(i), fmt.Sprintf("%s[%d]", path, i))
			}
			was := v.Interface()
			v.Set(reflect.Append(v, reflect.Zero(v.Type().Elem())))
			differs(path+" longer", 50)
			v.Set(reflect.ValueOf(was))
		case reflect.String, reflect.Bool, reflect.Int, reflect.Int64, reflect.Float64:
			was := reflect.New(v.Type()).Elem()
			was.Set(v)
			switch v.Kind() {
			case reflect.String:
				v.SetString(v.String() + "x")
			case reflect.Bool:
				v.SetBool(!v.Bool())
			case reflect.Float64:
				v.SetFloat(math.Nextafter(v.Float(), 9))
			default:
				v.SetInt(v.Int() + 1)
			}
			differs(path, 50)
			v.Set(was)
			count++
		default:
			t.Errorf("%s is a %s: say what changes it", path, v.Kind())
		}
	}
	walk(reflect.ValueOf(p).Elem(), "problem")
	for i := range reflect.TypeFor[Options]().NumField() {
		switch f := reflect.TypeFor[Options]().Field(i); f.Name {
		case "Meshes", "Answers", "Work", "Shelf": // what is kept and how much may be done changes no answer
		case "Like":
			opt.Like = &Solution{}
			if _, ok := keyOf(p, 50, opt); ok {
				t.Error("a solution like one without a key has a key")
			}
			opt.Like = &Solution{key: "a"}
			differs("like a", 50)
			opt.Like = &Solution{key: "b"}
			differs("like b", 50)
			opt.Like = nil
		default:
			walk(reflect.ValueOf(&opt).Elem().Field(i), "options."+f.Name)
		}
	}
	if count < 30 {
		t.Errorf("%d fields were changed", count)
	}
	// The curve has no field that others may write.
	other, err := material.SaturationCurve(2001, 2)
	if err != nil {
		t.Fatal(err)
	}
	p.Pieces[0].Curve = other
	differs("curve", 50)
}

// made reports whether the solution itself is there.
func (k *keptEngine) made() bool {
	in, ok := k.here.Peek().(*presence)
	return ok && in.e != nil
}
