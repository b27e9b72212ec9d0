package audit

import (
	"fmt"
	"math"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/parallel"
	"busgauss/model/si"
	"busgauss/rules/report/figure"
)

// planSamples is how many places of the plan the field is computed at: in space each takes the sum over all iron and all
// currents.
const planSamples = 2500

// planField returns the plan about the shields of finite depth with the flux density at the height of the first sensor, in
// the first component that alternates, or the first of all; false where there is none.
func (b *builder) planField(plan View) (v View, ok bool) {
	box := geom.EmptyBox()
	depthM := 0.0
	for i := range b.l.Shields {
		s := &b.l.Shields[i]
		if !s.DepthM.Set {
			continue
		}
		z := s.At.Point3().Z
		for _, p := range s.Region().Outer {
			box = box.Extend(geom.Point{X: p.X, Y: z - s.DepthM.V/2}).Extend(geom.Point{X: p.X, Y: z + s.DepthM.V/2})
		}
		depthM = math.Max(depthM, s.DepthM.V)
	}
	all, _ := b.components()
	if box.Empty() || len(b.l.Sensors) == 0 || len(all) == 0 {
		return v, false
	}
	at := &all[0]
	for i := range all {
		if all[i].c.FreqHz > 0 {
			at = &all[i]
			break
		}
	}
	if largest(&at.c) == 0 {
		return v, false
	}
	m, stated := b.modelOf(at.duty)
	m = m.Rough()
	f, err := m.FieldOf(&at.c)
	if err != nil {
		return v, false
	}
	box = box.Grow(depthM)
	size := box.Size()
	step := math.Sqrt(size.X * size.Y / planSamples)
	nx, ny := max(2, int(size.X/step)+1), max(2, int(size.Y/step)+1)
	shade := figure.Grid{BoxM: box, NX: nx, NY: ny, Value: make([]float64, nx*ny)}
	height := b.l.Sensors[0].At.Point3().Y
	parallel.Each(ny, ny, func(_, j int) {
		for i := range nx {
			q := geom.Point3{X: box.Min.X + size.X*float64(i)/float64(nx-1), Y: height,
				Z: box.Min.Y + size.Y*float64(j)/float64(ny-1)}
			sum, err := m.TotalAt(q, &at.c)
			if !stated {
				sum, err = f.At(q, 0).Scale(0), nil
				for k, a := range at.c.PeakA {
					if a != 0 {
						sum = sum.Add(f.At(q, layout.CircuitIndex(k)).Scale(a))
					}
				}
			}
			shade.Value[j*nx+i] = sum.Norm()
			if err != nil {
				shade.Value[j*nx+i] = math.NaN()
			}
		}
	})
	title := "flux density, peak, " + hertz(at.c.FreqHz)
	if at.c.FreqHz == 0 {
		title = "flux density, direct current"
	}
	v = View{Name: "Field in plan", Drawing: plan.Drawing}
	v.Drawing.ViewM = box
	v.Drawing.Title = fmt.Sprintf("Plan, duty %s, %s", at.duty.ID, hertz(at.c.FreqHz))
	v.Drawing.Shade = &figure.Shade{Grid: shade, Title: title, Unit: "T", Log: true}
	v.Text = fmt.Sprintf("To scale, about the shields. Flux density in space of duty %s, %s, at y = %s, the height of sensor %s, with what iron "+
		"and eddy currents of the shields add.", at.duty.ID, hertz(at.c.FreqHz), si.Format(height, "m"), b.l.Sensors[0].ID)
	return v, true
}
