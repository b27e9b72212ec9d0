package report

import (
	"bytes"
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"busgauss/model/span"
)

func TestPlaceIsAlwaysAcceptable(t *testing.T) {
	at := func(l, c int) span.Pos { return span.Pos{Line: l, Column: c} }
	for _, tc := range []struct {
		name       string
		in         span.Span
		start, end span.Pos
	}{
		{"given", span.Span{Start: at(3, 5), End: at(3, 9)}, at(3, 5), at(3, 9)},
		{"empty stretch", span.Span{Start: at(3, 5), End: at(3, 5)}, at(3, 5), at(3, 5)},
		{"over lines", span.Span{Start: at(3, 5), End: at(4, 1)}, at(3, 5), at(4, 1)},
		{"no position", span.Span{}, at(1, 1), at(1, 1)},
		{"no column", span.Span{Start: at(3, 0), End: at(3, 2)}, at(1, 1), at(1, 1)},
		{"no end", span.Span{Start: at(3, 5)}, at(3, 5), at(3, 5)},
		{"end before start", span.Span{Start: at(3, 5), End: at(3, 4)}, at(3, 5), at(3, 5)},
	} {
		if start, end := Place(tc.in); start != tc.start || end != tc.end {
			t.Errorf("%s: got %v to %v, want %v to %v", tc.name, start, end, tc.start, tc.end)
		}
	}
}

func TestNumberKeepsSixDigitsAndOnlyFinite(t *testing.T) {
	for _, v := range []float64{math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := Number(v); got != nil {
			t.Errorf("Number(%v) = %v, want none", v, *got)
		}
	}
	for in, want := range map[float64]string{
		0.0027683519:          "0.00276835",
		-1234567.8:            "-1234570",
		2:                     "2",
		math.Copysign(0, -1):  "0",
		1.0000004:             "1",
		6.02214076e23:         "6.02214e+23",
		4.9e-324:              "5e-324",
		math.MaxFloat64:       "1.79769e+308",
		0.1 + 0.2:             "0.3",
		-0.070000000000000007: "-0.07",
	} {
		got := Number(in)
		if got == nil {
			t.Errorf("Number(%v) is absent", in)
			continue
		}
		if text, err := json.Marshal(*got); err != nil || string(text) != want {
			t.Errorf("Number(%v) is written %s (%v), want %s", in, text, err, want)
		}
	}
}

func TestEncodeJSONHidesNothingAndLosesNothing(t *testing.T) {
	for _, s := range []string{
		"plain, <b> & é", "a\n::error::b", "\x1b[31mred", "\u202egnp.exe", "\u2028", "\x7f\u0085\u200f\ufeff",
		"##[error]x", "###[x]", "##vso[task.complete]", `\##[`, "\U000e0041 tag", "👩‍🔧",
	} {
		var out bytes.Buffer
		if err := EncodeJSON(&out, map[string]string{s: s}); err != nil {
			t.Fatal(err)
		}
		text := out.String()
		for _, bad := range []string{"\x1b", "\x7f", "\u0085", "\u202e", "\u2028", "\u200f", "\ufeff", "\u200d", "##", "\U000e0041"} {
			if strings.Contains(text, bad) {
				t.Errorf("%q: output holds %q: %q", s, bad, text)
			}
		}
		for line := range strings.SplitSeq(text, "\n") {
			if strings.HasPrefix(strings.TrimSpace(line), "::") {
				t.Errorf("%q: line reads as a command: %q", s, line)
			}
		}
		var back map[string]string
		if err := json.Unmarshal(out.Bytes(), &back); err != nil {
			t.Fatalf("%q: %v", s, err)
		}
		if back[s] != s {
			t.Errorf("%q came back as %q", s, back)
		}
	}
}

type refusing struct{}

var errRefused = errors.New("refused")

func (refusing) Write([]byte) (int, error) { return 0, errRefused }

func TestEncodeJSONErrors(t *testing.T) {
	if err := EncodeJSON(refusing{}, 1); !errors.Is(err, errRefused) {
		t.Errorf("got %v, want the writer's error", err)
	}
	var out bytes.Buffer
	if err := EncodeJSON(&out, math.NaN()); err == nil || out.Len() != 0 {
		t.Errorf("a number JSON lacks: error %v, %d bytes written; want an error and none", err, out.Len())
	}
}
