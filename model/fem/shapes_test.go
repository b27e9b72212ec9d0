package fem

import "busgauss/model/geom"

func rect(x0, y0, x1, y1 float64) geom.Region {
	return geom.Solid(geom.Polygon{{X: x0, Y: y0}, {X: x1, Y: y0}, {X: x1, Y: y1}, {X: x0, Y: y1}})
}

// mmPoly returns a polygon from coordinates in millimetres.
func mmPoly(c ...float64) geom.Region {
	var p geom.Polygon
	for i := 0; i < len(c); i += 2 {
		p = append(p, geom.Point{X: c[i] / 1e3, Y: c[i+1] / 1e3})
	}
	return geom.Solid(p)
}
