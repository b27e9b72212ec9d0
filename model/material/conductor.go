// Package material holds what the metals and the iron of a layout are made of:
// conductivities and magnetisation curves, each data set with its source.
package material

// Conductor is a conducting metal at 20 °C. SigmaSPerM is its conductivity in
// siemens per metre, AlphaPerK the linear temperature coefficient of its
// resistivity in 1/K referred to 20 °C.
type Conductor struct {
	Name       string
	SigmaSPerM float64
	AlphaPerK  float64
	Source     string
	Confirmed  bool // false when the numbers could not be confirmed in a public text
}

// SigmaAtSPerM returns the conductivity in S/m at temperatureC degrees Celsius:
//
//	σ(T) = σ20 / (1 + α20 (T − 20 °C))
//
// Valid for metals between −50 °C and 200 °C; NaN where the denominator is not
// positive. Source: IEC 60028 (1925) for copper; common practice for the others.
func (c Conductor) SigmaAtSPerM(temperatureC float64) float64 {
	return SigmaAtSPerM(c.SigmaSPerM, c.AlphaPerK, temperatureC)
}
