package insulation

import (
	"fmt"
	"math"
)

// AltitudeFactor returns the pure number by which clearances grow at altitudeM
// metres above sea level: 1 up to 2000 m, for which the clearance table is
// made, then Table A.2. It follows the breakdown voltage, which falls with the
// air pressure p:
//
//	k = p(2000 m) / p(altitude)
//
// Between rows k is linear in altitude. The curve bends upwards, so the chord
// lies on or above it: against the standard atmosphere (ISO 2533) it is 0 to
// 1.5 % on the safe side as far as 10 000 m, more in the wider steps above.
//
// Above 20 000 m, and where altitudeM is not a number, it returns an error.
//
// Source: IEC 60664-1:2007 and :2020, Table A.2.
func AltitudeFactor(altitudeM float64) (float64, Confidence, error) {
	row := func(i int) float64 { return altitudeRows[i].altitudeM }
	p, ok := locate(len(altitudeRows), row, altitudeM)
	if !ok || math.IsInf(altitudeM, 0) {
		return 0, 0, fmt.Errorf("altitude %s m is outside the table (up to %s m)", text(altitudeM), text(row(len(altitudeRows)-1)))
	}
	mark := Worst(altitudeRows[p.lo].confidence, altitudeRows[p.hi].confidence)
	return p.value(func(i int) float64 { return altitudeRows[i].factor }), mark, nil
}
