package laws

// plainChannel returns the first channel of a layout alone: its bar, which carries a continuous direct current and
// three times as much in a fault, its sensor without tolerances of place, its part with a density of noise, and a
// readout without stages that the second computations leave out. nil where no sensor with a part reads a bar.
func plainChannel(root *node) *node {
	for _, m := range root.section("sensors") {
		bar, part := m.value.str("reads"), m.value.str("part")
		if root.get("bars", bar) == nil || root.get("parts", part) == nil {
			continue
		}
		top := 1.0
		for _, d := range root.section("duties") {
			top = max(top, largestA(d.value))
		}
		sensor, p := m.value.clone(), root.get("parts", part).clone()
		sensor.drop("placement")
		if n := p.get("noise"); n != nil && n.get("density") == nil {
			p.drop("noise")
		}
		if p.get("noise") == nil {
			p.set("noise", obj("density", q(2e-6, noiseDensity)))
		}
		if p.get("bandwidth") == nil {
			p.set("bandwidth", q(80e3, frequency))
		}
		if o := p.get("output"); o != nil {
			o.drop("ratiometric")
			o.drop("supply")
			o.drop("supply-tolerance")
		}
		out := obj("layout", num(1))
		theBar := root.get("bars", bar).clone()
		theBar.drop("placement")
		out.set("bars", obj(bar, theBar))
		steady := func(kind string, a float64) *node {
			return obj("kind", say(kind), "currents", obj(bar, obj("dc", q(digits(a, 3), current))))
		}
		out.set("duties", obj("D1", steady("continuous", top), "D2", steady("fault", 3*top)))
		out.set("surroundings", obj("return", say("far")))
		out.set("sensors", obj(m.key, sensor))
		out.set("parts", obj(part, p))
		readout := obj()
		if r := root.get("readout"); r != nil {
			readout = r.clone()
		}
		for _, key := range []string{"channels", "amplifier", "number", "firmware"} {
			readout.drop(key)
		}
		if readout.get("converter") == nil {
			readout.set("converter", obj("low", q(0, voltage), "high", q(5, voltage), "bits", num(12)))
		}
		out.set("readout", readout)
		out.set("needs", obj(m.key, obj("smallest-current", q(digits(top/100, 2), current),
			"bandwidth", q(2e3, frequency))))
		return out
	}
	return nil
}

// plainSecondValues holds the numbers of the plain channel of a layout to their second computations.
func (b *bed) plainSecondValues(count map[string]int) []breach {
	root := plainChannel(b.root)
	if root == nil {
		return nil
	}
	plain := lay(root)
	if !plain.base.loads() {
		return []breach{{law: "oracle of a plain channel", text: string(yaml(root, nil)) + lines(plain.base.problems)}}
	}
	out := plain.secondValues(count)
	for i := range out {
		out[i].law = "oracle of a plain channel"
	}
	return out
}
