package iron

import (
	"testing"

	"busgauss/model/geom"
	"busgauss/model/material"
)

// Three channels of 12 mm depth round three bars, both meshes, fields at three sensors
// and the walls of all channels.
func BenchmarkThreeChannelsLinear(b *testing.B) {
	pieces, bars := threeChannels(12*mm, 2000)
	b.ReportAllocs()
	n := 0
	for b.Loop() {
		p, err := New(pieces, threeSensors, Options{})
		if err != nil {
			b.Fatal(err)
		}
		l, err := p.Linear(nil, bars)
		if err != nil {
			b.Fatal(err)
		}
		for k, q := range threeSensors {
			l.B(q, k)
			l.Wall(k, []complex128{250, 250, 250})
		}
		_, n = p.Unknowns()
	}
	b.ReportMetric(float64(n), "unknowns")
}

// The same at a fault that drives the iron far into saturation.
func BenchmarkThreeChannelsSaturating(b *testing.B) {
	steel, _ := material.IronByName("low-carbon-steel")
	curve, err := steel.Curve()
	if err != nil {
		b.Fatal(err)
	}
	pieces, bars := threeChannels(12*mm, 2000)
	for i := range pieces {
		pieces[i].Curve = curve
	}
	fault := func(r geom.Point3) geom.Point3 {
		return bars[0](r).Scale(2000).Add(bars[1](r).Scale(-1000)).Add(bars[2](r).Scale(-1000))
	}
	b.ReportAllocs()
	n, steps := 0, 0
	for b.Loop() {
		p, err := New(pieces, threeSensors, Options{})
		if err != nil {
			b.Fatal(err)
		}
		s, err := p.Saturate(fault)
		if err != nil {
			b.Fatal(err)
		}
		for k, q := range threeSensors {
			s.B(q)
			s.Wall(k)
		}
		_, n = p.Unknowns()
		steps = s.Steps
	}
	b.ReportMetric(float64(n), "unknowns")
	b.ReportMetric(float64(steps), "steps")
}

// One point for all sources, on both meshes.
func BenchmarkFieldPoint(b *testing.B) {
	pieces, bars := threeChannels(12*mm, 2000)
	p, err := New(pieces, threeSensors, Options{})
	if err != nil {
		b.Fatal(err)
	}
	l, err := p.Linear(nil, bars)
	if err != nil {
		b.Fatal(err)
	}
	x := 0.0
	for b.Loop() {
		x += 1e-9 // a new point each time
		l.B(geom.Point3{X: x, Y: 4.6 * mm}, 1)
	}
}
