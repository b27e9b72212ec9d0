package insulation

import "fmt"

// Clearance returns the least distance through air in metres that withstands
// impulseV volts (peak, 1.2/50 µs) in pollution degree 1 to 3 at altitudeM
// metres above sea level, in an inhomogeneous field (case A: holds for any
// shape of the electrodes, without a test).
//
//	functional, basic, supplementary  table value at impulseV
//	reinforced                        table value one step higher in the
//	                                  preferred series; at 160 % of impulseV
//	                                  where it is not in the series or the
//	                                  series has no higher step
//	above 2000 m                      times AltitudeFactor
//
// For functional insulation enter the impulse expected across the gap itself.
// Between rows the distance is linear in voltage; up to 330 V the first row
// holds. Reinforced distances are not monotone where the series is left: 5.9 kV
// leads to 9.44 kV, 6 kV only to 8 kV, as the rule is written. A gap may always
// be rated at the next preferred voltage.
//
// The distance is for any electrodes; printed boards, which may use the column
// of degree 1 in degree 2 with a floor of 0.04 mm, get no relief here.
//
// Outside the table (up to 100 kV, after the step for reinforced) it returns an
// error that names the range.
//
// Source: IEC 60664-1:2007 and :2020, Table F.2, case A; clause 5.1.6 (ed. 3:
// 5.2.5, number from memory) for reinforced.
func Clearance(impulseV float64, pollutionDegree int, kind Kind, altitudeM float64) (Need, error) {
	if err := checkDegree(pollutionDegree); err != nil {
		return Need{}, err
	}
	if !kind.valid() {
		return Need{}, fmt.Errorf("kind of insulation is not set")
	}
	factor, mark, err := AltitudeFactor(altitudeM)
	if err != nil {
		return Need{}, err
	}
	n := Need{
		Table:      fmt.Sprintf("IEC 60664-1 Table F.2, case A, pollution degree %d", pollutionDegree),
		Confidence: mark,
	}
	if kind == Reinforced && positive(impulseV) {
		var step string
		impulseV, step = reinforcedImpulseV(impulseV)
		n.Steps = append(n.Steps, step)
		n.Confidence = Worst(n.Confidence, clearanceReinforced)
	}

	row := func(i int) float64 { return clearanceRows[i].impulseV }
	p, ok := locate(len(clearanceRows), row, impulseV)
	if !ok || !positive(impulseV) {
		return Need{}, fmt.Errorf("impulse voltage %s is outside the clearance table (above 0 to %s)", kilovolts(impulseV), kilovolts(row(len(clearanceRows)-1)))
	}
	n.DistanceM = p.value(func(i int) float64 { return clearanceRows[i].distanceM[pollutionDegree-1] })
	n.Row = p.rowName(func(i int) string { return kilovolts(row(i)) })
	n.Confidence = Worst(n.Confidence, Worst(clearanceRows[p.lo].confidence, clearanceRows[p.hi].confidence))
	step := fmt.Sprintf("case A degree %d, row %s: %s", pollutionDegree, n.Row, millimetres(n.DistanceM))
	if p.between() {
		step = fmt.Sprintf("case A degree %d, %s between rows %s: %s", pollutionDegree, kilovolts(impulseV), n.Row, millimetres(n.DistanceM))
		n.Confidence = Worst(n.Confidence, clearanceInterpolation)
	}
	n.Steps = append(n.Steps, step)

	if factor > 1 {
		n.DistanceM *= factor
		n.Steps = append(n.Steps, fmt.Sprintf("altitude %s m: x %s = %s", text(altitudeM), text(factor), millimetres(n.DistanceM)))
	}
	return n, nil
}

// reinforcedImpulseV returns the impulse voltage in volts that a reinforced
// clearance is looked up with, and the step that says so.
func reinforcedImpulseV(impulseV float64) (float64, string) {
	for i, v := range preferredV[:len(preferredV)-1] {
		if same(impulseV, v) {
			next := preferredV[i+1]
			return next, fmt.Sprintf("reinforced: %s, one step above %s in the preferred series", kilovolts(next), kilovolts(impulseV))
		}
	}
	higher := 1.6 * impulseV
	return higher, fmt.Sprintf("reinforced: 160 %% of %s = %s, no step in the preferred series", kilovolts(impulseV), kilovolts(higher))
}
