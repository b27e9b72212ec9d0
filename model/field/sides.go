package field

// sides returns the field at either end of the permeability range of iron; one
// field where there is no range. A comparison of two frequencies takes the same
// end of both, for the iron is the same.
func (f *Field) sides() []*Field {
	var out []*Field
	ends := f.section.sides()
	for k, p := range ends {
		side := *f
		side.section = p
		if len(ends) > 1 {
			side.end = k + 1
		}
		out = append(out, &side)
	}
	return out
}

// SidesAt returns the sides of the field at direct current and at freqHz, paired.
func (m *Model) SidesAt(freqHz float64) (still, moving []*Field, err error) {
	f0, err := m.Field(0)
	if err != nil {
		return nil, nil, err
	}
	f, err := m.Field(freqHz)
	if err != nil {
		return nil, nil, err
	}
	still, moving = f0.sides(), f.sides()
	if len(still) != len(moving) {
		return nil, nil, &Unknown{"the iron has a range of permeability at one frequency only"}
	}
	return still, moving, nil
}
