package mesh

import (
	"math"
	"testing"

	"busgauss/model/geom"
)

// threeChannels is a drawing of three bars in U-shaped shields in a round domain.
func threeChannels() Input {
	in := Input{Loops: []Loop{CircleLoop(geom.Point{X: 0.025}, 0.15, 0, 0, 1)}}
	for k := range 3 {
		x := 0.025 * float64(k)
		in.Loops = append(in.Loops, Loop{Points: rect(x, 0, 0.015, 0.004, 0), Region: RegionID(1 + k), Tag: 2})
		a, w, h := 0.0076, 0.0015, 0.013
		u := geom.Polygon{{X: x - a - w, Y: -0.0021 - w}, {X: x + a + w, Y: -0.0021 - w}, {X: x + a + w, Y: h}, {X: x + a, Y: h},
			{X: x + a, Y: -0.0021}, {X: x - a, Y: -0.0021}, {X: x - a, Y: h}, {X: x - a - w, Y: h}}
		in.Loops = append(in.Loops, Loop{Points: u, Region: RegionID(11 + k), Tag: 3})
	}
	return in
}

func benchSize(b *testing.B, h float64) {
	in := threeChannels()
	opt := Options{Size: func(p geom.Point, r RegionID) float64 {
		return h * (1 + 20*math.Hypot(p.X-0.025, p.Y))
	}}
	var m *Mesh
	b.ReportAllocs()
	for b.Loop() {
		var err error
		if m, err = Triangulate(in, opt); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(m.Tris)), "triangles")
	b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/float64(len(m.Tris))*1e6, "µs/triangle")
}

func BenchmarkGraded(b *testing.B) {
	b.Run("coarse", func(b *testing.B) { benchSize(b, 1) })
	b.Run("20k", func(b *testing.B) { benchSize(b, 0.0019) })
	b.Run("200k", func(b *testing.B) { benchSize(b, 0.00053) })
}

func BenchmarkP2(b *testing.B) {
	in := threeChannels()
	m, err := Triangulate(in, Options{Size: func(geom.Point, RegionID) float64 { return 0.0013 }})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		m.P2()
	}
	b.ReportMetric(float64(len(m.Tris)), "triangles")
}

func BenchmarkLayers(b *testing.B) {
	in := threeChannels()
	for i := range in.Loops[1:] {
		in.Loops[i+1].Inside = Layers{FirstM: 5e-5, Count: 6, EdgeM: 2e-3}
	}
	var m *Mesh
	for b.Loop() {
		var err error
		if m, err = Triangulate(in, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(len(m.Tris)), "triangles")
}

func BenchmarkLocate(b *testing.B) {
	m, err := Triangulate(threeChannels(), Options{})
	if err != nil {
		b.Fatal(err)
	}
	i := 0
	for b.Loop() {
		m.Locate(m.Nodes[i%len(m.Nodes)])
		i += 17
	}
}
