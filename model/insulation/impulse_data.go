package insulation

// Source: IEC 60664-1:2007 (ed. 2) and :2020 (ed. 3) Table F.1. Rows 300 V and
// 1000 V were found in two public texts (A), 150 V and 600 V in one (B); 50 V,
// 100 V and the row for 1500 V direct voltage are from memory (D). A test
// compares with fixtures/reference.

// impulseRow is the rated impulse voltage in volts (peak, 1.2/50 µs) for
// overvoltage categories I to IV where the voltage from line to neutral, rms or
// direct, is at most lineToNeutralV.
type impulseRow struct {
	lineToNeutralV float64
	categoryV      [4]float64
	dcOnly         bool
	confidence     Confidence
}

// impulseRows is in rising order of lineToNeutralV.
var impulseRows = [...]impulseRow{
	{50, [4]float64{330, 500, 800, 1500}, false, 'D'},
	{100, [4]float64{500, 800, 1500, 2500}, false, 'D'},
	{150, [4]float64{800, 1500, 2500, 4000}, false, 'B'},
	{300, [4]float64{1500, 2500, 4000, 6000}, false, 'A'},
	{600, [4]float64{2500, 4000, 6000, 8000}, false, 'B'},
	{1000, [4]float64{4000, 6000, 8000, 12000}, false, 'A'},
	{1500, [4]float64{6000, 8000, 10000, 15000}, true, 'D'},
}

// preferredV is the preferred series of rated impulse voltages in volts,
// IEC 60664-1 ed. 2 clause 4.2.3 (number from memory); the series itself is
// marked C. Reinforced clearances step along it.
var preferredV = [...]float64{330, 500, 800, 1500, 2500, 4000, 6000, 8000, 12000}
