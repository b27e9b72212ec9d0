package element

// Metric holds the products of the gradients of the area coordinates of a
// straight triangle times its area, pure numbers: G01 = A ∇λ0·∇λ1 and so on.
// The diagonal follows from λ0 + λ1 + λ2 = 1.
type Metric struct{ G01, G12, G20 float64 }

// NewMetric returns the metric and the area, in square metres, of the triangle
// with corners (x0,y0), (x1,y1), (x2,y2) in counter-clockwise order.
//
// Formula: A ∇λi·∇λj = ei·ej/(4A), ei the edge opposite corner i.
func NewMetric(x0, y0, x1, y1, x2, y2 float64) (Metric, float64) {
	ax, ay := x2-x1, y2-y1 // opposite 0
	bx, by := x0-x2, y0-y2
	cx, cy := x1-x0, y1-y0
	area := (float64(cx*(y2-y0)) - float64(cy*(x2-x0))) / 2
	f := 1 / (4 * area)
	return Metric{(float64(ax*bx) + float64(ay*by)) * f, (float64(bx*cx) + float64(by*cy)) * f, (float64(cx*ax) + float64(cy*ay)) * f}, area
}

// Stiffness returns ∫ ∇Ni·∇Nj over the straight triangle, a pure number,
// integrated exactly; rows sum to 0.
func (m Metric) Stiffness() [6][6]float64 {
	g01, g12, g20 := m.G01, m.G12, m.G20
	g0, g1, g2 := -g01-g20, -g01-g12, -g12-g20
	const c, d = 4.0 / 3, 8.0 / 3
	k := [6][6]float64{}
	k[0][0], k[1][1], k[2][2] = g0, g1, g2
	k[1][0], k[2][1], k[2][0] = -g01/3, -g12/3, -g20/3
	k[3][0], k[3][1] = c*g01, c*g01
	k[4][1], k[4][2] = c*g12, c*g12
	k[5][2], k[5][0] = c*g20, c*g20
	k[3][3], k[4][4], k[5][5] = d*(g0+g1+g01), d*(g1+g2+g12), d*(g2+g0+g20)
	k[4][3], k[5][4], k[5][3] = d*g20, d*g01, d*g12
	for i := range 6 {
		for j := range i {
			k[j][i] = k[i][j]
		}
	}
	return k
}

// Mass returns ∫ Ni Nj over the straight triangle of unit area, a pure number;
// all entries sum to 1.
func Mass() [6][6]float64 {
	const f = 1.0 / 180
	return [6][6]float64{
		{6 * f, -1 * f, -1 * f, 0, -4 * f, 0},
		{-1 * f, 6 * f, -1 * f, 0, 0, -4 * f},
		{-1 * f, -1 * f, 6 * f, -4 * f, 0, 0},
		{0, 0, -4 * f, 32 * f, 16 * f, 16 * f},
		{-4 * f, 0, 0, 16 * f, 32 * f, 16 * f},
		{0, -4 * f, 0, 16 * f, 16 * f, 32 * f},
	}
}

// Jacobian is the derivative of the map from the reference triangle.
type Jacobian struct {
	XXi, XEta, YXi, YEta float64 // ∂x/∂ξ …
	Det                  float64
}

// NewJacobian returns the derivative, at given derivatives of the shape
// functions, of the map with nodes (x[i], y[i]).
func NewJacobian(x, y *[6]float64, dXi, dEta *[6]float64) Jacobian {
	var j Jacobian
	for i := range 6 {
		j.XXi += float64(dXi[i] * x[i])
		j.XEta += float64(dEta[i] * x[i])
		j.YXi += float64(dXi[i] * y[i])
		j.YEta += float64(dEta[i] * y[i])
	}
	j.Det = float64(j.XXi*j.YEta) - float64(j.XEta*j.YXi)
	return j
}

// Push turns derivatives on the reference triangle into those with respect to
// x and y.
func (j *Jacobian) Push(dXi, dEta float64) (dx, dy float64) {
	return (float64(j.YEta*dXi) - float64(j.YXi*dEta)) / j.Det, (float64(-j.XEta*dXi) + float64(j.XXi*dEta)) / j.Det
}

// Curved returns ∫ ∇Ni·∇Nj (pure number) and ∫ Ni Nj (square metres) over the
// triangle with six nodes (x[i], y[i]), by the given rule.
func Curved(x, y *[6]float64, rule []Node) (stiff, mass [6][6]float64) {
	for _, q := range rule {
		dXi, dEta := ShapeGrad(q.Xi, q.Eta)
		j := NewJacobian(x, y, &dXi, &dEta)
		n := Shape(q.Xi, q.Eta)
		var gx, gy [6]float64
		for i := range 6 {
			gx[i], gy[i] = j.Push(dXi[i], dEta[i])
		}
		w := q.W * j.Det
		for i := range 6 {
			for k := range 6 {
				stiff[i][k] += float64(w * (float64(gx[i]*gx[k]) + float64(gy[i]*gy[k])))
				mass[i][k] += float64(w * n[i] * n[k])
			}
		}
	}
	return stiff, mass
}
