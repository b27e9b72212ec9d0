package insulation

import "fmt"

// SteadyClearance returns the least distance through air in metres that withstands
// peakV volts (peak) as often or as long as they come: the peak of the working voltage,
// a temporary overvoltage or a recurring peak, in an inhomogeneous field (case A) at
// altitudeM metres above sea level.
//
//	functional, basic, supplementary  table value
//	reinforced                        table value at 160 % of peakV
//	above 2000 m                      times AltitudeFactor
//
// Between rows the distance is linear in voltage; up to 330 V the first row holds, which
// the floors of Clearance outrun. The pollution degree plays no part. The clearance of
// a gap is the larger of this and of Clearance: see Larger.
//
// Outside the table (up to 50 kV, after the step for reinforced) it returns an error that
// names the range. For frequencies up to 30 kHz.
//
// Source: IEC 60664-1:2007, Table F.7a, case A, clause 5.1.6 for reinforced; from memory.
func SteadyClearance(peakV float64, kind Kind, altitudeM float64) (Need, error) {
	if !kind.valid() {
		return Need{}, fmt.Errorf("kind of insulation is not set")
	}
	factor, mark, err := AltitudeFactor(altitudeM)
	if err != nil {
		return Need{}, err
	}
	n := Need{Table: "IEC 60664-1 Table F.7a, case A", Confidence: mark}
	if kind == Reinforced && positive(peakV) {
		n.Steps = append(n.Steps, fmt.Sprintf("reinforced: 160 %% of %s peak = %s", kilovolts(peakV),
			kilovolts(1.6*peakV)))
		n.Confidence = Worst(n.Confidence, steadyReinforced)
		peakV *= 1.6
	}
	row := func(i int) float64 { return steadyRows[i].peakV }
	p, ok := locate(len(steadyRows), row, peakV)
	if !ok || !positive(peakV) {
		return Need{}, fmt.Errorf("voltage %s peak is outside the table for voltages that last (above 0 to %s)",
			kilovolts(peakV), kilovolts(row(len(steadyRows)-1)))
	}
	n.DistanceM = p.value(func(i int) float64 { return steadyRows[i].distanceM })
	n.Row = p.rowName(func(i int) string { return kilovolts(row(i)) })
	n.Confidence = Worst(n.Confidence, Worst(steadyRows[p.lo].confidence, steadyRows[p.hi].confidence))
	step := fmt.Sprintf("case A, row %s: %s", n.Row, millimetres(n.DistanceM))
	if p.between() {
		step = fmt.Sprintf("case A, %s between rows %s: %s", kilovolts(peakV), n.Row, millimetres(n.DistanceM))
		n.Confidence = Worst(n.Confidence, clearanceInterpolation)
	}
	n.Steps = append(n.Steps, step)
	if factor > 1 {
		n.DistanceM *= factor
		n.Steps = append(n.Steps, fmt.Sprintf("altitude %s m: x %s = %s", text(altitudeM), text(factor),
			millimetres(n.DistanceM)))
	}
	return n, nil
}

// Larger returns the larger of two needs for the same gap; a where they are equal.
func Larger(a, b Need) Need {
	if b.DistanceM > a.DistanceM {
		return b
	}
	return a
}
