package element

// Shape returns the six shape functions at (xi, eta), pure numbers that sum to 1:
// λi (2 λi − 1) at the corners, 4 λi λj between them.
func Shape(xi, eta float64) [6]float64 {
	l := 1 - xi - eta
	return [6]float64{l * (2*l - 1), xi * (2*xi - 1), eta * (2*eta - 1), 4 * l * xi, 4 * xi * eta, 4 * eta * l}
}

// ShapeGrad returns the derivatives of the shape functions with respect to xi
// and eta; each set sums to 0.
func ShapeGrad(xi, eta float64) (dXi, dEta [6]float64) {
	l := 1 - xi - eta
	return [6]float64{1 - 4*l, 4*xi - 1, 0, 4 * (l - xi), 4 * eta, -4 * eta},
		[6]float64{1 - 4*l, 0, 4*eta - 1, -4 * xi, 4 * xi, 4 * (l - eta)}
}

// Bubbles returns the four cubics that vanish at all six nodes: on each edge
// λa λb (λa − λb) for (a, b) = (0,1), (1,2), (2,0), then λ0 λ1 λ2. Together with
// the shape functions they span all cubics.
//
// Source: R. E. Bank, A. Weiser, Some a posteriori error estimators for elliptic
// partial differential equations, Math. Comp. 44 (1985) 283-301.
func Bubbles(xi, eta float64) [4]float64 {
	l := 1 - xi - eta
	return [4]float64{l * xi * (l - xi), xi * eta * (xi - eta), eta * l * (eta - l), l * xi * eta}
}

// BubblesGrad returns the derivatives of the bubbles with respect to xi and eta.
func BubblesGrad(xi, eta float64) (dXi, dEta [4]float64) {
	l := 1 - xi - eta
	// ∂(λa λb (λa − λb)) = λb (2 λa − λb) ∂λa + λa (λa − 2 λb) ∂λb.
	edge := func(a, b, da, db float64) float64 { return float64(b*(2*a-b)*da) + float64(a*(a-2*b)*db) }
	dXi = [4]float64{edge(l, xi, -1, 1), edge(xi, eta, 1, 0), edge(eta, l, 0, -1), eta * (l - xi)}
	dEta = [4]float64{edge(l, xi, -1, 0), edge(xi, eta, 0, 1), edge(eta, l, 1, -1), xi * (l - eta)}
	return dXi, dEta
}
