package rules_test

import (
	"strings"
	"testing"

	"busgauss/model/channel"
	"busgauss/model/finding"
	"busgauss/model/probe"
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

// Gain, firmware and number each turn the sign round where they are declared negative;
// the rule and the chain must say the same. Sign rules of products.
func TestPolarityOfTheChannel(t *testing.T) {
	for _, c := range []struct {
		name, axis, readout, what string
		want                      finding.Verdict
	}{
		{"inverting amplifier", "180 deg", "amplifier: {gain: -2, reference: 2.5 V, zero: 1.6 V}, ", "signal behind the amplifier", finding.Fail},
		{"inverting amplifier against the field", "0 deg", "amplifier: {gain: -2, reference: 2.5 V, zero: 1.6 V}, ", "signal behind the amplifier", finding.Pass},
		{"negative slope", "180 deg", "firmware: {slope: -10 mA}, ", "number", finding.Fail},
		{"negative slope against the field", "0 deg", "firmware: {slope: -10 mA}, ", "number", finding.Pass},
		{"turned twice", "180 deg", "amplifier: {gain: -2, reference: 2.5 V, zero: 1.6 V}, firmware: {slope: -10 mA}, ", "number", finding.Pass},
		{"negative step", "180 deg", "firmware: {slope: 10 mA}, number: {signed: true, width: 16, per-count: -10 mA}, ", "number", finding.Fail},
		{"straight", "180 deg", "firmware: {slope: 10 mA}, ", "number", finding.Pass},
	} {
		yaml := strings.Replace(channelBar(10e-3, "", c.readout+threeVolts, ""), "180 deg", c.axis, 1)
		f := one(t, check(t, rules.Polarity, yaml), "S")
		if f.Verdict != c.want || !strings.HasPrefix(f.Message, "S: its "+c.what+" ") {
			t.Errorf("%s: %v, want %v: %s", c.name, f.Verdict, c.want, f.Message)
		}
		l := mustLoad(t, yaml)
		x, err := channel.Of(probe.NewModel(l), &l.Sensors[0])
		if err != nil {
			t.Fatal(err)
		}
		if rises := x.Chain.Polarity() > 0; rises != (c.want == finding.Pass) {
			t.Errorf("%s: the chain says %+d", c.name, x.Chain.Polarity())
		}
	}
}

// A range from -4 to 8 mT at 27.68 uT/A ends at 289 A and -145 A; with a falling
// part turned round the ends change places.
func TestPolarityAsymmetricEnds(t *testing.T) {
	yaml := strings.Replace(smallBar(2.5, ""), "linear-range: 8 mT", "linear-range: {low: -4 mT, high: 8 mT}", 1)
	if f := one(t, check(t, rules.Polarity, yaml), "S"); !strings.HasSuffix(f.Message, "Its range ends at 289 A and -145 A") {
		t.Error(f.Message)
	}
	yaml = strings.NewReplacer("180 deg", "0 deg", "200 mV/mT", "-200 mV/mT").Replace(yaml)
	if f := one(t, check(t, rules.Polarity, yaml), "S"); !strings.HasSuffix(f.Message, "Its range ends at 145 A and -289 A") {
		t.Error(f.Message)
	}
}
