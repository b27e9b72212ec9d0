package plan

import (
	"io/fs"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/model/geom"
	"busgauss/model/layout"
)

func num(mm float64) layout.Num { return layout.Num{V: mm * 1e-3, Set: true} }

func neck(along, length, width float64) layout.Cut {
	return layout.Cut{Kind: layout.Neck, AlongM: num(along), LengthM: num(length), WidthM: num(width)}
}

func notch(along, length, depth, side float64) layout.Cut {
	return layout.Cut{Kind: layout.Notch, AlongM: num(along), LengthM: num(length), DepthM: num(depth), Side: side}
}

func hole(across, along, diameter float64) layout.Cut {
	return layout.Cut{Kind: layout.Hole, AcrossM: num(across), AlongM: num(along), DiameterM: num(diameter)}
}

func slot(across, along, width, length float64) layout.Cut {
	return layout.Cut{Kind: layout.Slot, AcrossM: num(across), AlongM: num(along), WidthM: num(width), LengthM: num(length)}
}

// bar returns a drawing in millimetres.
func bar(width, thickness, from, to float64, cuts ...layout.Cut) Drawing {
	return Drawing{WidthM: width * 1e-3, ThicknessM: thickness * 1e-3, FromM: from * 1e-3, ToM: to * 1e-3, Cuts: cuts}
}

func long(width, thickness float64, cuts ...layout.Cut) Drawing {
	return bar(width, thickness, math.Inf(-1), math.Inf(1), cuts...)
}

func mm(x, y, z float64) geom.Point3 { return geom.Point3{X: x, Y: y, Z: z}.Scale(1e-3) }

func solve(t testing.TB, d Drawing, opt Options) *Flow {
	t.Helper()
	f, err := Solve(d, opt)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// near fails unless got lies within tol of want, both absolute.
func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.7g, want %.7g ± %.2g", what, got, want, tol)
	}
}

// blockOf returns the text of a block of a file of fixtures/reference.
func blockOf(t *testing.T, file, key string) string {
	t.Helper()
	b, err := fs.ReadFile(fixtures.FS, "reference/"+file)
	if err != nil {
		t.Fatal(err)
	}
	_, rest, ok := strings.Cut("\n"+string(b), "\n"+key+":")
	if !ok {
		t.Fatalf("%s has no %s", file, key)
	}
	if i := regexp.MustCompile(`\n\S`).FindStringIndex(rest); i != nil {
		rest = rest[:i[0]]
	}
	return rest
}

// numbersAfter returns the numbers in the list or the number behind a key.
func numbersAfter(t *testing.T, block, key string) []float64 {
	t.Helper()
	_, rest, ok := strings.Cut(block, key+":")
	if !ok {
		t.Fatalf("no %s", key)
	}
	rest, _, _ = strings.Cut(rest, "\n")
	var out []float64
	for _, s := range regexp.MustCompile(`-?[0-9.]+`).FindAllString(rest, -1) {
		if v, err := strconv.ParseFloat(s, 64); err == nil {
			out = append(out, v)
		}
	}
	return out
}
