package material

// conductors are the metals that a layout may name without declaring them, in
// the order in which they are listed to users.
var conductors = [...]Conductor{
	{
		Name: "copper", SigmaSPerM: 5.742e7, AlphaPerK: 0.00389, Confirmed: true,
		Source: "Cu-ETP bus bar, 99 % of the annealed copper standard of IEC 60028 (1925): 1.7241 µΩcm, 0.00393/K",
	},
	{
		Name: "aluminium", SigmaSPerM: 3.48e7, AlphaPerK: 0.00403, Confirmed: true,
		Source: "grade 1350 bus bar: K. C. Agrawal, Industrial Power Engineering and Applications Handbook, table 30.1, 2.873 µΩcm",
	},
	{
		Name: "brass", SigmaSPerM: 1.55e7, AlphaPerK: 0.0017, Confirmed: false,
		Source: "CuZn37, typical data sheet value from memory, not confirmed",
	},
}

// Conductors returns the built-in metals in a fixed order.
func Conductors() []Conductor { return append([]Conductor(nil), conductors[:]...) }

// ConductorByName returns the built-in metal called name.
func ConductorByName(name string) (Conductor, bool) {
	for _, c := range conductors {
		if c.Name == name {
			return c, true
		}
	}
	return Conductor{}, false
}
