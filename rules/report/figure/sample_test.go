package figure

import (
	"math"

	"busgauss/model/geom"
)

// filaments returns |B| in tesla and A_z in Wb/m of straight filaments in a grid;
// a square in its corner is not known.
func filaments(box geom.Box, nx, ny int, at []geom.Point, currentA []float64) (b, a Grid) {
	b = Grid{BoxM: box, NX: nx, NY: ny, Value: make([]float64, nx*ny)}
	a = Grid{BoxM: box, NX: nx, NY: ny, Value: make([]float64, nx*ny)}
	for j := range ny {
		for i := range nx {
			p := b.place(float64(i), float64(j))
			bx, by, az := 0.0, 0.0, 0.0
			for k, q := range at {
				d := p.Sub(q)
				r2 := max(d.Dot(d), 25e-6) // inside 5 mm: flat
				bx -= 2e-7 * currentA[k] * d.Y / r2
				by += 2e-7 * currentA[k] * d.X / r2
				az -= 1e-7 * currentA[k] * math.Log(r2)
			}
			b.Value[j*nx+i], a.Value[j*nx+i] = math.Hypot(bx, by), az
			if i < nx/8 && j < ny/8 {
				b.Value[j*nx+i], a.Value[j*nx+i] = math.NaN(), math.NaN()
			}
		}
	}
	return b, a
}

// thruster is a section of three bars with shields, as a ferry's thruster might
// have them.
func thruster() Drawing {
	view := geom.Box{Min: geom.Point{X: -0.09, Y: -0.03}, Max: geom.Point{X: 0.09, Y: 0.055}}
	at := []geom.Point{{X: -0.05}, {}, {X: 0.05}}
	b, a := filaments(view, 91, 43, at, []float64{400, -200, -200})
	d := Drawing{
		Frame:  Frame{ID: "section", Title: "Section at 100 Hz", Desc: "Three bars side by side, a sensor above each within a channel of sheet."},
		Across: "x", Up: "y", ViewM: view,
		Shade: &Shade{Grid: b, Title: "flux density, 100 Hz, peak", Unit: "T", Log: true},
		Flux:  &Flux{Grid: a, Title: "flux lines at 0° of phase"},
	}
	for k, p := range at {
		name := [...]string{"U", "V", "W"}[k]
		d.Bars = append(d.Bars, Part{Name: "bar " + name, Regions: []geom.Region{geom.Solid(geom.Rectangle(0.02, 0.005).Place(p, 0))}})
		d.Shields = append(d.Shields, Part{Name: "shield " + name, Regions: []geom.Region{geom.Solid(geom.Channel(0.026, 0.02, 0.0015).Place(p.Add(geom.Point{Y: -0.008}), 0))}})
		s := p.Add(geom.Point{Y: 0.009})
		d.Sensors = append(d.Sensors, Sensor{
			Name: "sensor-" + name, AtM: s, Axis: geom.Point{X: 1},
			ToleranceM: geom.Rectangle(0.0016, 0.001).Place(s, 0),
		})
	}
	d.Sensors[1].Note = "3.2 % over limit"
	d.Dimensions = []Dimension{
		{FromM: at[0], ToM: at[1], Side: Below},
		{FromM: at[1], ToM: at[2], Side: Below},
		{FromM: geom.Point{X: 0.04}, ToM: geom.Point{X: 0.06}, Side: Below},
		{FromM: geom.Point{X: 0.06, Y: 0.0025}, ToM: geom.Point{X: 0.06, Y: -0.0025}},
		{FromM: geom.Point{X: 0.05, Y: 0.0025}, ToM: geom.Point{X: 0.05, Y: 0.009}, Text: "gap 6.5 mm"},
		{FromM: geom.Point{X: -0.05, Y: 0.009}, ToM: geom.Point{X: -0.037, Y: 0.02}, Text: "17 mm"},
		{FromM: geom.Point{X: -0.064, Y: 0.01}, ToM: geom.Point{X: -0.064, Y: -0.01}, Side: Left},
	}
	return d
}

// detail is one bar of the section, with a linear scale and dimensions at the
// edges.
func detail() Drawing {
	d := thruster()
	d.ID = "detail"
	d.ViewM = geom.Box{Min: geom.Point{X: -0.07, Y: -0.02}, Max: geom.Point{X: -0.03, Y: 0.03}}
	d.Shade.Log = false
	d.MaxHeight = 330
	edge := geom.Point{X: -0.031, Y: -0.019}
	d.Dimensions = append(d.Dimensions[:2:2],
		Dimension{FromM: geom.Point{X: -0.06}, ToM: geom.Point{X: -0.04}, Side: Above},
		Dimension{FromM: geom.Point{X: -0.05, Y: 0.0025}, ToM: geom.Point{X: -0.05, Y: 0.009}, Text: "gap 6.5 mm", Side: Left},
		Dimension{FromM: edge, ToM: edge.Add(geom.Point{Y: 0.001}), Text: "at the lower edge", Side: Right},
		Dimension{FromM: edge, ToM: edge.Add(geom.Point{X: 0.001}), Text: "a long text at the right edge of the view"})
	return d
}

// plan is the plan of the same bars with a bend, and a cut.
func plan() Drawing {
	d := Drawing{
		Frame:  Frame{ID: "plan", Title: "Plan", Desc: "Bars from above."},
		Across: "z", Up: "x",
		Cuts: []Cut{{FromM: geom.Point{X: 0, Y: -0.09}, ToM: geom.Point{X: 0, Y: 0.09}, Label: "section"}},
	}
	for k, y := range [...]float64{-0.05, 0, 0.05} {
		name := [...]string{"U", "V", "W"}[k]
		d.Bars = append(d.Bars, Part{Name: "bar " + name, Regions: []geom.Region{
			geom.Solid(geom.Rectangle(0.3, 0.02).Place(geom.Point{X: -0.02, Y: y}, 0)),
			geom.Solid(geom.Rectangle(0.005, 0.02).Place(geom.Point{X: 0.1325, Y: y}, 0)),
		}})
		d.Shields = append(d.Shields, Part{Name: "shield " + name, Hidden: k == 2, Regions: []geom.Region{geom.Solid(geom.Rectangle(0.02, 0.029).Place(geom.Point{Y: y}, 0))}})
		d.Sensors = append(d.Sensors, Sensor{Name: "sensor-" + name, AtM: geom.Point{Y: y}, Axis: geom.Point{Y: 1}})
	}
	d.Sensors[2].Axis = geom.Point{}
	d.Dimensions = []Dimension{
		{FromM: geom.Point{X: 0, Y: -0.05}, ToM: geom.Point{X: 0.135, Y: -0.05}},
		{FromM: geom.Point{X: -0.01, Y: 0.05}, ToM: geom.Point{X: 0.01, Y: 0.05}, Side: Above},
		{FromM: geom.Point{X: 0.13, Y: -0.05}, ToM: geom.Point{X: 0.13, Y: 0}},
	}
	return d
}

// chain is the output of a sensor against current with a clip and a trip.
func chain() Chart {
	c := Chart{
		Frame: Frame{ID: "chain", Title: "Output against current", Desc: "The output rises with the current and clips at 4.8 V."},
		X:     Axis{Title: "current", Unit: "A"},
	}
	p := Panel{Y: Axis{Title: "output", Unit: "V"}}
	for k, name := range [...]string{"nominal", "sensitivity high", "sensitivity low"} {
		f := [...]float64{1, 1.05, 0.95}[k]
		s := Series{Name: name}
		for i := -60; i <= 60; i++ {
			x := float64(i) * 20
			s.X = append(s.X, x)
			s.Y = append(s.Y, min(max(2.5+f*x*2e-3, 0.2), 4.8))
		}
		p.Series = append(p.Series, s)
	}
	p.Marks = []Mark{
		{Upright: true, At: 800, Label: "rated peak"},
		{Upright: true, At: 900, Label: "trip"},
		{Upright: true, At: -800, Label: "-rated peak"},
		{At: 4.8, Label: "upper clip"},
		{At: 0.2, Label: "lower clip"},
	}
	p.Bands = []Band{{From: 0.5, To: 4.5, Label: "range of the converter"}}
	c.Panels = []Panel{p}
	return c
}

// response is field per ampere and phase against frequency.
func response() Chart {
	c := Chart{
		Frame: Frame{ID: "response", Title: "Field per ampere against frequency", Desc: "Amplitude and phase."},
		X:     Axis{Title: "frequency", Unit: "Hz", Log: true},
		Panels: []Panel{
			{Y: Axis{Title: "flux density per ampere of its bar", Unit: "T/A", Log: true}, Marks: []Mark{{Upright: true, At: 50, Label: "duty"}, {Upright: true, At: 16e3, Label: "switching"}}},
			{Y: Axis{Title: "phase", Unit: "rad"}},
		},
	}
	for k, name := range [...]string{"own", "stray of bar V", "stray of bar W"} {
		a, b := Series{Name: name}, Series{Name: name}
		for i := 0; i <= 60; i++ {
			f := math.Pow(10, float64(i)/12)
			x := f / (2000 * float64(k+1))
			a.X, b.X = append(a.X, f), append(b.X, f)
			a.Y = append(a.Y, [...]float64{12e-6, 9e-7, 8e-7}[k]/math.Sqrt(1+x*x))
			b.Y = append(b.Y, -math.Atan(x))
		}
		if k == 1 {
			a.Y[30], b.Y[30] = math.NaN(), math.NaN()
		}
		c.Panels[0].Series = append(c.Panels[0].Series, a)
		c.Panels[1].Series = append(c.Panels[1].Series, b)
	}
	return c
}

func contributors() Ranking {
	return Ranking{
		Frame: Frame{ID: "rank", Title: "Contributors", Desc: "Ranked."}, Title: "standard uncertainty, share of the reading",
		Items: []Item{
			{Name: "sensitivity of the part", Value: 0.012, Text: "1.2 %"},
			{Name: "place of the sensor", Value: 0.009, Text: "0.9 %"},
			{Name: "stray of the neighbours", Value: 0.0021, Text: "0.21 %"},
			{Name: "temperature", Value: math.NaN()},
			{Name: "combined", Value: 0.0152, Text: "1.52 %", Total: true},
		},
	}
}
