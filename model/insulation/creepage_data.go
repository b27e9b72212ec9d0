package insulation

// Source: IEC 60664-1:2007 (ed. 2) Table F.4; in IEC 60664-1:2020 (ed. 3)
// Table F.5, number from memory. Rows 10 V to 2000 V were read in a public
// catalogue page on DIN EN 60664-1 (B); the rows above continue the same series
// and ratios from memory (C). A test compares with fixtures/reference.

// creepageRow holds the least creepage distances in metres against tracking at
// voltV (rms). Printed-board columns end at 1000 V: 0 means no value there.
type creepageRow struct {
	voltV      float64
	boardM     [2]float64    // printed board, pollution degrees 1 and 2
	degree1M   float64       // every material group
	groupM     [2][3]float64 // pollution degrees 2 and 3; groups I, II, III
	confidence Confidence
}

// creepageRows is in rising order of voltV.
var creepageRows = [...]creepageRow{
	{10, [2]float64{0.025e-3, 0.040e-3}, 0.080e-3, [2][3]float64{{0.400e-3, 0.400e-3, 0.400e-3}, {1.000e-3, 1.000e-3, 1.000e-3}}, 'B'},
	{12.5, [2]float64{0.025e-3, 0.040e-3}, 0.090e-3, [2][3]float64{{0.420e-3, 0.420e-3, 0.420e-3}, {1.050e-3, 1.050e-3, 1.050e-3}}, 'B'},
	{16, [2]float64{0.025e-3, 0.040e-3}, 0.100e-3, [2][3]float64{{0.450e-3, 0.450e-3, 0.450e-3}, {1.100e-3, 1.100e-3, 1.100e-3}}, 'B'},
	{20, [2]float64{0.025e-3, 0.040e-3}, 0.110e-3, [2][3]float64{{0.480e-3, 0.480e-3, 0.480e-3}, {1.200e-3, 1.200e-3, 1.200e-3}}, 'B'},
	{25, [2]float64{0.025e-3, 0.040e-3}, 0.125e-3, [2][3]float64{{0.500e-3, 0.500e-3, 0.500e-3}, {1.250e-3, 1.250e-3, 1.250e-3}}, 'B'},
	{32, [2]float64{0.025e-3, 0.040e-3}, 0.14e-3, [2][3]float64{{0.53e-3, 0.53e-3, 0.53e-3}, {1.30e-3, 1.30e-3, 1.30e-3}}, 'B'},
	{40, [2]float64{0.025e-3, 0.040e-3}, 0.16e-3, [2][3]float64{{0.56e-3, 0.80e-3, 1.10e-3}, {1.40e-3, 1.60e-3, 1.80e-3}}, 'B'},
	{50, [2]float64{0.025e-3, 0.040e-3}, 0.18e-3, [2][3]float64{{0.60e-3, 0.85e-3, 1.20e-3}, {1.50e-3, 1.70e-3, 1.90e-3}}, 'B'},
	{63, [2]float64{0.040e-3, 0.063e-3}, 0.20e-3, [2][3]float64{{0.63e-3, 0.90e-3, 1.25e-3}, {1.60e-3, 1.80e-3, 2.00e-3}}, 'B'},
	{80, [2]float64{0.063e-3, 0.100e-3}, 0.22e-3, [2][3]float64{{0.67e-3, 0.95e-3, 1.30e-3}, {1.70e-3, 1.90e-3, 2.10e-3}}, 'B'},
	{100, [2]float64{0.100e-3, 0.160e-3}, 0.25e-3, [2][3]float64{{0.71e-3, 1.00e-3, 1.40e-3}, {1.80e-3, 2.00e-3, 2.20e-3}}, 'B'},
	{125, [2]float64{0.160e-3, 0.250e-3}, 0.28e-3, [2][3]float64{{0.75e-3, 1.05e-3, 1.50e-3}, {1.90e-3, 2.10e-3, 2.40e-3}}, 'B'},
	{160, [2]float64{0.250e-3, 0.400e-3}, 0.32e-3, [2][3]float64{{0.80e-3, 1.10e-3, 1.60e-3}, {2.00e-3, 2.20e-3, 2.50e-3}}, 'B'},
	{200, [2]float64{0.400e-3, 0.630e-3}, 0.42e-3, [2][3]float64{{1.00e-3, 1.40e-3, 2.00e-3}, {2.50e-3, 2.80e-3, 3.20e-3}}, 'B'},
	{250, [2]float64{0.560e-3, 1.00e-3}, 0.56e-3, [2][3]float64{{1.25e-3, 1.80e-3, 2.50e-3}, {3.20e-3, 3.60e-3, 4.00e-3}}, 'B'},
	{320, [2]float64{0.75e-3, 1.60e-3}, 0.75e-3, [2][3]float64{{1.60e-3, 2.20e-3, 3.20e-3}, {4.00e-3, 4.50e-3, 5.00e-3}}, 'B'},
	{400, [2]float64{1.0e-3, 2.0e-3}, 1.0e-3, [2][3]float64{{2.0e-3, 2.8e-3, 4.0e-3}, {5.0e-3, 5.6e-3, 6.3e-3}}, 'B'},
	{500, [2]float64{1.3e-3, 2.5e-3}, 1.3e-3, [2][3]float64{{2.5e-3, 3.6e-3, 5.0e-3}, {6.3e-3, 7.1e-3, 8.0e-3}}, 'B'},
	{630, [2]float64{1.8e-3, 3.2e-3}, 1.8e-3, [2][3]float64{{3.2e-3, 4.5e-3, 6.3e-3}, {8.0e-3, 9.0e-3, 10.0e-3}}, 'B'},
	{800, [2]float64{2.4e-3, 4.0e-3}, 2.4e-3, [2][3]float64{{4.0e-3, 5.6e-3, 8.0e-3}, {10.0e-3, 11.0e-3, 12.5e-3}}, 'B'},
	{1000, [2]float64{3.2e-3, 5.0e-3}, 3.2e-3, [2][3]float64{{5.0e-3, 7.1e-3, 10.0e-3}, {12.5e-3, 14.0e-3, 16.0e-3}}, 'B'},
	{1250, [2]float64{0, 0}, 4.2e-3, [2][3]float64{{6.3e-3, 9.0e-3, 12.5e-3}, {16.0e-3, 18.0e-3, 20.0e-3}}, 'B'},
	{1600, [2]float64{0, 0}, 5.6e-3, [2][3]float64{{8.0e-3, 11.0e-3, 16.0e-3}, {20.0e-3, 22.0e-3, 25.0e-3}}, 'B'},
	{2000, [2]float64{0, 0}, 7.5e-3, [2][3]float64{{10.0e-3, 14.0e-3, 20.0e-3}, {25.0e-3, 28.0e-3, 32.0e-3}}, 'B'},
	{2500, [2]float64{0, 0}, 10.0e-3, [2][3]float64{{12.5e-3, 18.0e-3, 25.0e-3}, {32.0e-3, 36.0e-3, 40.0e-3}}, 'C'},
	{3200, [2]float64{0, 0}, 12.5e-3, [2][3]float64{{16.0e-3, 22.0e-3, 32.0e-3}, {40.0e-3, 45.0e-3, 50.0e-3}}, 'C'},
	{4000, [2]float64{0, 0}, 16.0e-3, [2][3]float64{{20.0e-3, 28.0e-3, 40.0e-3}, {50.0e-3, 56.0e-3, 63.0e-3}}, 'C'},
	{5000, [2]float64{0, 0}, 20.0e-3, [2][3]float64{{25.0e-3, 36.0e-3, 50.0e-3}, {63.0e-3, 71.0e-3, 80.0e-3}}, 'C'},
}

// Marks of the rules around the table.
const (
	// Linear interpolation between voltage rows is allowed. From memory.
	creepageInterpolation Confidence = 'C'
	// Twice the distance of basic insulation: IEC 60664-1 ed. 2 clause 5.2.5
	// (ed. 3: 5.3.5). From memory.
	creepageReinforced Confidence = 'C'
	// Creepage is never less than the clearance. One public text.
	creepageFloor Confidence = 'B'
	// A board that the printed-board columns do not cover takes the general
	// columns: read from the heads of the columns, not confirmed.
	creepageBoardFallback Confidence = 'C'
)

// groupIIIbLimitV is the voltage, rms, above which material group IIIb is not
// recommended in pollution degree 3 (footnote of the table).
const groupIIIbLimitV = 630
