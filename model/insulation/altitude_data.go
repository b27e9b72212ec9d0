package insulation

// Source: IEC 60664-1:2007 (ed. 2) and :2020 (ed. 3) Table A.2. Factors to
// 10 000 m were found in two public texts (A), 15 000 m in one (B), 20 000 m in
// none (C). A test compares with fixtures/reference and recomputes them from the
// normal air pressures there.

// altitudeRow is the factor by which clearances grow at altitudeM above sea
// level.
type altitudeRow struct {
	altitudeM, factor float64
	confidence        Confidence
}

// altitudeRows is in rising order of altitudeM. The factor at 2000 m is 1 by
// definition of the clearance table.
var altitudeRows = [...]altitudeRow{
	{2000, 1.00, 'A'},
	{3000, 1.14, 'A'},
	{4000, 1.29, 'A'},
	{5000, 1.48, 'A'},
	{6000, 1.70, 'A'},
	{7000, 1.95, 'A'},
	{8000, 2.25, 'A'},
	{9000, 2.62, 'A'},
	{10000, 3.02, 'A'},
	{15000, 6.67, 'B'},
	{20000, 14.5, 'C'},
}
