package si

import "testing"

func TestSlip(t *testing.T) {
	for text, want := range map[string]string{
		"2,5 mm":    "2.5 mm",
		"20mm":      "20 mm",
		"2,25mm":    "2.25 mm",
		"−3 mm":     "-3 mm",
		"+3 mm":     "3 mm",
		"3  mm":     "3 mm",
		" 3 mm":     "3 mm",
		"0,5 mm":    "0.5 mm",
		"1,500 m":   "", // 1.5 or 1500
		"1,5,2 m":   "",
		"1.000,5 m": "",
		"3 mm":      "", // is one
		"3 kg":      "",
		"three mm":  "",
		"3":         "",
		"":          "",
	} {
		if got, ok := Slip(text, Length); got != want || ok != (want != "") {
			t.Errorf("Slip(%q) = %q, %v; want %q", text, got, ok, want)
		}
	}
}
