package material

// Iron is a class of soft-magnetic material with its magnetisation curve and
// typical properties. Zero properties are unknown.
type Iron struct {
	Name        string
	Description string
	SaturationT float64 // saturation polarisation
	CoercivityA float64 // A/m, typical
	SigmaSPerM  float64 // at 20 °C, typical
	// SaturationPerK is how the saturation changes with temperature, a share of that at 25 °C; 0 where
	// it is not known.
	SaturationPerK float64
	Source         string
	Confirmed      bool // false when the curve could not be confirmed in a public text
	points         []CurvePoint
	muRel          float64 // used when there are no points
}

// Curve returns the magnetisation curve: linear between the published points,
// or SaturationCurve for a class known only by permeability and saturation.
// The curve is of the initial or normal kind, at room temperature.
func (m Iron) Curve() (*Curve, error) {
	if len(m.points) == 0 {
		return SaturationCurve(m.muRel, m.SaturationT)
	}
	return NewCurve(m.points, Linear)
}

// Irons returns the built-in classes in a fixed order.
func Irons() []Iron {
	return []Iron{lowCarbonSteel(), siliconSteel(), nickelIron50(), nickelIron80(), manganeseZinc()}
}

// IronByName returns the built-in class called name.
func IronByName(name string) (Iron, bool) {
	for _, m := range Irons() {
		if m.Name == name {
			return m, true
		}
	}
	return Iron{}, false
}
