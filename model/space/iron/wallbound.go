package iron

import (
	"math"

	"busgauss/model/portable"
)

// walled is a wall on one mesh, with the mean over the thickness of the flux density along it by station and layer.
type walled struct {
	Wall
	along [][]complex128
}

// unlike is the largest difference between two meshes over the stations of a wall, in T: of the mean over the depth, at
// the mid-plane, and of a layer.
type unlike struct {
	mean, mid, layer float64
}

// unlikeWalls compares each station of the coarse mesh with the mean of the two that the fine one has in its place.
func unlikeWalls(coarse, fine *answer, piece int, c, f *walled) unlike {
	var out unlike
	cc, fc := &coarse.l.m.columns[piece], &fine.l.m.columns[piece]
	if len(fc.z) != 2*len(cc.z)-1 {
		return out // one mesh alone: see Alternating
	}
	place := map[[2]int32]int{}
	for k := range coarse.l.walls[piece] {
		place[coarse.l.walls[piece][k].edge] = k
	}
	sums, count := make([][]complex128, len(c.along)), make([]int, len(c.along))
	for i := range fine.l.walls[piece] {
		k, ok := place[fine.l.walls[piece][i].parent]
		if !ok {
			continue
		}
		if sums[k] == nil {
			sums[k] = make([]complex128, len(f.along[i]))
		}
		count[k]++
		for l, v := range f.along[i] {
			sums[k][l] += v
		}
	}
	for k, sum := range sums {
		if sum == nil {
			continue
		}
		for l := range sum {
			sum[l] = portable.Quotient(sum[l], complex(float64(count[k]), 0))
		}
		d := make([]complex128, len(cc.z)-1)
		for l := range d {
			low, high := fc.z[2*l+1]-fc.z[2*l], fc.z[2*l+2]-fc.z[2*l+1]
			pair := portable.Quotient(portable.Times(sum[2*l], complex(low, 0))+portable.Times(sum[2*l+1], complex(high, 0)), complex(low+high, 0))
			d[l] = pair - c.along[k][l]
			out.layer = math.Max(out.layer, size(d[l]))
		}
		out.mean = math.Max(out.mean, size(cc.overDepth(d)))
		out.mid = math.Max(out.mid, size(fine.l.m.middle(fc, sum)-coarse.l.m.middle(cc, c.along[k])))
	}
	return out
}

// overDepth returns the mean over the depth of values in the layers.
func (c *columns) overDepth(v []complex128) complex128 {
	layers := len(c.z) - 1
	depth := c.z[layers] - c.z[0]
	var mean complex128
	for l, x := range v {
		mean += portable.Times(x, complex((c.z[l+1]-c.z[l])/depth, 0))
	}
	return mean
}

// wallOf returns the figures of a piece extrapolated from both meshes.
func wallOf(levels *[2]*answer, piece int, weights []complex128, scale float64) Wall {
	coarse, fine := levels[0].wall(piece, weights), levels[1].wall(piece, weights)
	c := &levels[0].l.m.columns[piece]
	w := wallLimit(&coarse.Wall, &fine.Wall, unlikeWalls(levels[0], levels[1], piece, &coarse, &fine), c.s.shape(), scale)
	if len(c.z) == 2 { // one layer says nothing of how a wall changes along z
		w.EndBoundT += math.Abs(w.EndT - w.PeakT)
	}
	if c.long {
		w.PeakT, w.PeakBoundT = w.EndT, w.EndBoundT
	}
	return w
}

func wallLimit(coarse, fine *Wall, u unlike, s shape, scale float64) Wall {
	w := *fine
	grown := portable.Pow(scale, assumedOrder)
	w.PeakT, w.PeakBoundT = limit1(coarse.PeakT, fine.PeakT, smoothOrder, peakShare[s], u.mean, grown)
	w.MidT, w.MidBoundT = limit1(coarse.MidT, fine.MidT, smoothOrder, midShare[s], math.Max(u.mid, u.mean), grown)
	w.EndT, w.EndBoundT = limit1(coarse.EndT, fine.EndT, smoothOrder, endShare[s], u.layer, scale)
	w.RmsT, w.RmsBoundT = limit1(coarse.RmsT, fine.RmsT, assumedOrder, rmsShare[s], u.layer, grown)
	return w
}
