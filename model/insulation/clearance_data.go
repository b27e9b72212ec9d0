package insulation

// Source: IEC 60664-1:2007 (ed. 2) Table F.2, case A, inhomogeneous field; the
// same in IEC 60664-1:2020 (ed. 3) Table F.2. The layout of the table is from
// memory; rows marked B were confirmed in public text (a catalogue page on
// DIN EN 60664-1, railway technical rules with the same clearances, a component
// data sheet of October 2021). A test compares with fixtures/reference.

// clearanceRow is the clearance in metres, up to 2000 m above sea level, that
// withstands impulseV (peak, 1.2/50 µs) in pollution degrees 1, 2 and 3.
type clearanceRow struct {
	impulseV   float64
	distanceM  [3]float64
	confidence Confidence
}

// clearanceRows is in rising order of impulseV.
var clearanceRows = [...]clearanceRow{
	{330, [3]float64{0.01e-3, 0.2e-3, 0.8e-3}, 'C'},
	{400, [3]float64{0.02e-3, 0.2e-3, 0.8e-3}, 'C'},
	{500, [3]float64{0.04e-3, 0.2e-3, 0.8e-3}, 'C'},
	{600, [3]float64{0.06e-3, 0.2e-3, 0.8e-3}, 'C'},
	{800, [3]float64{0.10e-3, 0.2e-3, 0.8e-3}, 'C'},
	{1000, [3]float64{0.15e-3, 0.2e-3, 0.8e-3}, 'C'},
	{1200, [3]float64{0.25e-3, 0.25e-3, 0.8e-3}, 'C'},
	{1500, [3]float64{0.5e-3, 0.5e-3, 0.8e-3}, 'B'},
	{2000, [3]float64{1.0e-3, 1.0e-3, 1.0e-3}, 'C'},
	{2500, [3]float64{1.5e-3, 1.5e-3, 1.5e-3}, 'B'},
	{3000, [3]float64{2.0e-3, 2.0e-3, 2.0e-3}, 'C'},
	{4000, [3]float64{3.0e-3, 3.0e-3, 3.0e-3}, 'B'},
	{5000, [3]float64{4.0e-3, 4.0e-3, 4.0e-3}, 'C'},
	{6000, [3]float64{5.5e-3, 5.5e-3, 5.5e-3}, 'B'},
	{8000, [3]float64{8.0e-3, 8.0e-3, 8.0e-3}, 'B'},
	{10000, [3]float64{11e-3, 11e-3, 11e-3}, 'D'},
	{12000, [3]float64{14e-3, 14e-3, 14e-3}, 'C'},
	{15000, [3]float64{18e-3, 18e-3, 18e-3}, 'D'},
	{20000, [3]float64{25e-3, 25e-3, 25e-3}, 'D'},
	{25000, [3]float64{33e-3, 33e-3, 33e-3}, 'D'},
	{30000, [3]float64{40e-3, 40e-3, 40e-3}, 'C'},
	{40000, [3]float64{60e-3, 60e-3, 60e-3}, 'D'},
	{50000, [3]float64{75e-3, 75e-3, 75e-3}, 'D'},
	{60000, [3]float64{90e-3, 90e-3, 90e-3}, 'D'},
	{80000, [3]float64{130e-3, 130e-3, 130e-3}, 'B'},
	{100000, [3]float64{170e-3, 170e-3, 170e-3}, 'B'},
}

// Marks of the rules around the table.
const (
	// Footnote of Table F.2: interpolation is allowed for voltages other than
	// the preferred ones. One public text.
	clearanceInterpolation Confidence = 'B'
	// IEC 60664-1 ed. 2 clause 5.1.6 (ed. 3: 5.2.5, number from memory): one
	// step of the preferred series for reinforced insulation, else 160 %. The
	// step was confirmed in a component data sheet, 160 % is from memory.
	clearanceReinforced Confidence = 'C'
)
