package mesh

import (
	"slices"

	"busgauss/model/geom"
)

// insertionOrder returns the order in which to insert points: rounds of doubling size, each along a Hilbert
// curve, so that walks are short. Rounds are drawn by a fixed mixing function, not by chance.
//
// Source: N. Amenta, S. Choi, G. Rote, Incremental constructions con BRIO, Symp. Comput. Geom. 2003,
// doi:10.1145/777792.777824.
func insertionOrder(pts []geom.Point, box geom.Box) []int32 {
	type keyed struct {
		key   uint64
		round int32
		i     int32
	}
	size := box.Size()
	scale := float64(1<<31-1) / max(size.X, size.Y)
	items := make([]keyed, len(pts))
	for i, p := range pts {
		x := uint32((p.X - box.Min.X) * scale)
		y := uint32((p.Y - box.Min.Y) * scale)
		round := int32(0)
		for h := mix(uint64(i)); h&1 == 0 && round < 30; h >>= 1 {
			round++
		}
		items[i] = keyed{hilbertKey(x, y), round, int32(i)}
	}
	slices.SortFunc(items, func(a, b keyed) int {
		switch {
		case a.round != b.round:
			return int(b.round - a.round)
		case a.key < b.key:
			return -1
		case a.key > b.key:
			return 1
		}
		return int(a.i - b.i)
	})
	order := make([]int32, len(items))
	for i, it := range items {
		order[i] = it.i
	}
	return order
}

// mix is the finaliser of a 64-bit hash. Source: G. L. Steele, D. Lea, C. H. Flood, Fast splittable
// pseudorandom number generators, OOPSLA 2014, doi:10.1145/2660193.2660195.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

// hilbertKey returns the position of a cell along a Hilbert curve of 31 levels.
func hilbertKey(x, y uint32) uint64 {
	var key uint64
	for s := uint32(1) << 30; s > 0; s >>= 1 {
		var rx, ry uint32
		if x&s != 0 {
			rx = 1
		}
		if y&s != 0 {
			ry = 1
		}
		key = key<<2 | uint64((3*rx)^ry)
		if ry == 0 {
			if rx == 1 {
				x, y = ^x, ^y
			}
			x, y = y, x
		}
	}
	return key
}
