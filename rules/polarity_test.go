package rules_test

import (
	"strings"
	"testing"

	"busgauss/model/finding"
	"busgauss/rules"
)

// Right-hand rule: +z current, field to -x above the bar and to +x below it.
func TestPolarity(t *testing.T) {
	for _, c := range []struct {
		name, y, axis, sensitivity string
		want                       finding.Verdict
	}{
		{"above, along the field", "4.5 mm", "180 deg", "200 mV/mT", finding.Pass},
		{"above, against it", "4.5 mm", "0 deg", "200 mV/mT", finding.Fail},
		{"below, along the field", "-4.5 mm", "0 deg", "200 mV/mT", finding.Pass},
		{"below, against it", "-4.5 mm", "180 deg", "200 mV/mT", finding.Fail},
		{"against it, falling part", "4.5 mm", "0 deg", "-200 mV/mT", finding.Pass},
		{"along it, falling part", "4.5 mm", "180 deg", "-200 mV/mT", finding.Fail},
		{"along it, settable falling part", "4.5 mm", "180 deg", "{from: -100 mV/mT, to: -300 mV/mT}", finding.Fail},
		{"across", "4.5 mm", "90 deg", "200 mV/mT", finding.Undecided},
		{"along z", "4.5 mm", "[0, 0, 1]", "200 mV/mT", finding.Undecided},
	} {
		yaml := strings.NewReplacer("4.5 mm", c.y, "180 deg", c.axis, "200 mV/mT", c.sensitivity).Replace(smallBar(2.5, ""))
		if f := one(t, check(t, rules.Polarity, yaml), "S"); f.Verdict != c.want {
			t.Errorf("%s: %v, want %v: %s", c.name, f.Verdict, c.want, f.Message)
		}
	}
}

// A range from -4 to 8 mT at 27.68 uT/A ends at 289 A and -145 A; with a falling
// part turned round the ends change places.
func TestPolarityAsymmetricEnds(t *testing.T) {
	yaml := strings.Replace(smallBar(2.5, ""), "linear-range: 8 mT", "linear-range: {low: -4 mT, high: 8 mT}", 1)
	if f := one(t, check(t, rules.Polarity, yaml), "S"); !strings.HasSuffix(f.Message, "its range ends at 289 A and -145 A") {
		t.Error(f.Message)
	}
	yaml = strings.NewReplacer("180 deg", "0 deg", "200 mV/mT", "-200 mV/mT").Replace(yaml)
	if f := one(t, check(t, rules.Polarity, yaml), "S"); !strings.HasSuffix(f.Message, "its range ends at 145 A and -289 A") {
		t.Error(f.Message)
	}
}
