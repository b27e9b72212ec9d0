package insulation

// Source: IEC 60664-1:2007 (ed. 2) Table F.7a, case A, inhomogeneous field, from
// memory: no public text was found for it. A test compares with fixtures/reference.

// steadyRow is the clearance in metres, up to 2000 m above sea level, that withstands
// peakV for as long as it lasts.
type steadyRow struct {
	peakV      float64
	distanceM  float64
	confidence Confidence
}

// steadyRows is in rising order of peakV.
var steadyRows = [...]steadyRow{
	{330, 0.01e-3, 'D'},
	{400, 0.02e-3, 'D'},
	{500, 0.04e-3, 'D'},
	{600, 0.06e-3, 'D'},
	{800, 0.13e-3, 'D'},
	{1000, 0.26e-3, 'D'},
	{1200, 0.42e-3, 'D'},
	{1500, 0.76e-3, 'D'},
	{2000, 1.27e-3, 'D'},
	{2500, 1.8e-3, 'D'},
	{3000, 2.4e-3, 'D'},
	{4000, 3.8e-3, 'D'},
	{5000, 5.7e-3, 'D'},
	{6000, 7.9e-3, 'D'},
	{8000, 11.0e-3, 'D'},
	{10000, 15.2e-3, 'D'},
	{12000, 19e-3, 'D'},
	{15000, 25e-3, 'D'},
	{20000, 34e-3, 'D'},
	{25000, 44e-3, 'D'},
	{30000, 55e-3, 'D'},
	{40000, 77e-3, 'D'},
	{50000, 100e-3, 'D'},
}

// steadyReinforced marks the rule for reinforced insulation: 160 % of the voltage
// (IEC 60664-1 ed. 2 clause 5.1.6), from memory.
const steadyReinforced Confidence = 'C'
