package closedform

import (
	"math"

	"busgauss/model/geom"
	"busgauss/model/portable"
)

// BlockMagnetB returns the flux density in tesla, in space, of a rectangular
// magnet with its centre at the origin and its edges along the axes, at r.
// sizeM holds its three edges, remanenceT its even magnetisation times μ0, a
// vector in any direction. The magnet is the same as charges on its faces; for
// the part magnetised along z, with x_i = x ± a/2, y_j = y ± b/2, z_k = z ± c/2,
// r_ijk the distance from the corner, and the signs + + +, + + −, … of the corners:
//
//	Bx = (Br/4π) Σ ± ln(y_j + r_ijk),  By = (Br/4π) Σ ± ln(x_i + r_ijk)
//	Bz = −(Br/4π) Σ ± atan(x_i y_j/(z_k r_ijk))   (+ Br inside)
//
// The other parts follow by exchange of the axes. Inside the answer is B, not
// μ0 H. A point on a face counts as outside (what lies along a face jumps there);
// on an edge the field jumps or is infinite: NaN. The permeability of the magnet is
// taken as 1. Numerical error below 1e-9 of |B| at any distance for edges within
// 10 of each other.
//
// Source: Z. J. Yang, T. H. Johansen, H. Bratland, G. Helgesen,
// A. T. Skjeltorp, J. Appl. Phys. 68 (1990) 1225 (reference from memory); the
// law of Coulomb for charged rectangles.
func BlockMagnetB(r, sizeM, remanenceT geom.Point3) geom.Point3 {
	if !(sizeM.X > 0 && sizeM.Y > 0 && sizeM.Z > 0) {
		return nanPoint3()
	}
	if r.Norm() > magnetFarRatio*sizeM.Norm()/2 {
		return blockFar(r, sizeM, remanenceT)
	}
	if onEdge(r, sizeM) {
		return nanPoint3()
	}
	var sum geom.Point3
	if remanenceT.Z != 0 {
		sum = sum.Add(blockAlongZ(r, sizeM).Scale(remanenceT.Z))
	}
	if remanenceT.X != 0 {
		sum = sum.Add(cycle(cycle(blockAlongZ(cycle(r), cycle(sizeM)))).Scale(remanenceT.X))
	}
	if remanenceT.Y != 0 {
		sum = sum.Add(cycle(blockAlongZ(cycle(cycle(r)), cycle(cycle(sizeM)))).Scale(remanenceT.Y))
	}
	return sum
}

// cycle renames the axes: the old x becomes z. Three times is nothing.
func cycle(p geom.Point3) geom.Point3 { return geom.Point3{X: p.Y, Y: p.Z, Z: p.X} }

// blockAlongZ returns the field of a magnet of unit remanence along +z.
func blockAlongZ(r, size geom.Point3) geom.Point3 {
	// The first octant is enough: Bx is odd in x and z, By in y and z, Bz even.
	x, y, z := math.Abs(r.X), math.Abs(r.Y), math.Abs(r.Z)
	var logX, logY, atan float64
	for k, zk := range [2]float64{z + size.Z/2, z - size.Z/2} {
		sign := float64(2*k - 1) // the face at +c/2 carries the positive charge
		xs := [2]float64{x + size.X/2, x - size.X/2}
		ys := [2]float64{y + size.Y/2, y - size.Y/2}
		logX += float64(sign * (logEdge(ys, xs[1], zk) - logEdge(ys, xs[0], zk)))
		logY += float64(sign * (logEdge(xs, ys[1], zk) - logEdge(xs, ys[0], zk)))
		for i, xi := range xs {
			for j, yj := range ys {
				s := sign * float64(1-2*i) * float64(1-2*j)
				d := math.Sqrt(float64(xi*xi) + float64(yj*yj) + float64(zk*zk))
				if xi*yj != 0 {
					// On the plane of the face zk is +0, its outer side. With xi or
					// yj 0 the two terms of the line through the edge cancel.
					atan += float64(s * portable.Atan(xi*yj/(zk*d)))
				}
			}
		}
	}
	b := geom.Point3{
		X: math.Copysign(1, r.X) * math.Copysign(1, r.Z) * logX,
		Y: math.Copysign(1, r.Y) * math.Copysign(1, r.Z) * logY,
		Z: atan,
	}.Scale(1 / (4 * math.Pi))
	if x < size.X/2 && y < size.Y/2 && z < size.Z/2 {
		b.Z++
	}
	return b
}

// onEdge reports whether r lies on an edge of the block, corners included.
func onEdge(r, size geom.Point3) bool {
	dx, dy, dz := math.Abs(r.X)-size.X/2, math.Abs(r.Y)-size.Y/2, math.Abs(r.Z)-size.Z/2
	if dx > 0 || dy > 0 || dz > 0 {
		return false
	}
	return dx == 0 && dy == 0 || dy == 0 && dz == 0 || dz == 0 && dx == 0
}

// logEdge returns ln((s0 + r0)/(s1 + r1)), r = √(s² + p² + q²), the potential of
// an evenly charged edge at the distances p and q; s0 > 0 and s0 > s1.
func logEdge(s [2]float64, p, q float64) float64 {
	d2 := float64(p*p) + float64(q*q)
	r0, r1 := math.Sqrt(float64(s[0]*s[0])+d2), math.Sqrt(float64(s[1]*s[1])+d2)
	if s[1] >= 0 {
		return portable.Log((s[0] + r0) / (s[1] + r1))
	}
	// s1 + r1 = d²/(r1 − s1) would lose its digits as a difference. d is 0 on an
	// edge only, which the caller has sorted out.
	return portable.Log((s[0] + r0) * ((r1 - s[1]) / d2))
}

// blockFar is the field of dipoles at the points of a Gauss rule in the block.
func blockFar(r, size, remanenceT geom.Point3) geom.Point3 {
	node, weight := gauss4()
	volume := size.X * size.Y * size.Z
	var sum geom.Point3
	for i, ti := range node {
		for j, tj := range node {
			for k, tk := range node {
				at := geom.Point3{X: ti * size.X / 2, Y: tj * size.Y / 2, Z: tk * size.Z / 2}
				share := volume * weight[i] * weight[j] * weight[k] / 8
				sum = sum.Add(dipoleB(r.Sub(at), remanenceT, share))
			}
		}
	}
	return sum
}
