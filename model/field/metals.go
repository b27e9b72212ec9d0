package field

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"busgauss/model/closedform"
	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/portable"
	"busgauss/model/space/eddy"
	"busgauss/model/work"
)

// metals are the bars of a layout, its walls that conduct and its iron as one problem in space: eddy currents of bars answer
// there to walls and iron as they end. A metals is made once for a layout.
//
// A bar is taken as a piece of metal that carries its steady current evenly and, besides, eddy currents that close in it, as
// far as barReach of its widths beyond all that stands about it; its ends are in the bound: see metalsAt.change.
type metals struct {
	problem *eddy.Problem
	pieces  []metalPiece
	bars    []eddy.Source
	ends    []barEnd

	mu        sync.Mutex
	responses map[string]*work.Item // *eddy.Response by sources and permeabilities
	shelf     *work.Shelf
	work      *work.Budget
}

// metalPiece is a piece and the shield that it is, layout.None for a bar.
type metalPiece struct {
	shield layout.ShieldIndex
	thinM  float64
	of     eddy.Piece
}

// barEnd is where a bar ends as a piece, and how wide it is.
type barEnd struct{ fromM, toM, widthM float64 }

const (
	barReach   = 8
	coreSteps  = 6 // layers to a width where things stand about a bar, and
	coreLayers = 5 // to half of what stands there at most
	deepWidths = 6
	noShield   = layout.ShieldIndex(-1)
)

// metalsOf returns the metals of the layout; nil where it has no iron or where they are not all such as package
// eddy takes.
func (m *Model) metalsOf() (*metals, error) {
	c := m.cache
	c.metalsOnce.Do(func() { c.metals, c.metalsErr = m.newMetals() })
	return c.metals, c.metalsErr
}

func (m *Model) newMetals() (*metals, error) {
	l := m.Layout
	if !m.inSpace() || extentOf(l).open || len(l.Bonded) > 0 {
		return nil, nil
	}
	out := &metals{responses: map[string]*work.Item{}, shelf: m.cache.shelf, work: m.cache.work}
	if !out.addShields(l) || !out.addBars(l) {
		return nil, nil
	}
	var points []geom.Point3
	for i := range l.Sensors {
		for _, e := range l.Sensors[i].Elements() {
			points = append(points, e.At)
		}
	}
	var pieces []eddy.Piece
	for i := range out.pieces {
		pieces = append(pieces, out.pieces[i].of)
	}
	var err error
	out.problem, err = eddy.New(pieces, points, eddy.Options{Work: m.cache.work})
	if notTaken(err) || err == nil && out.problem.Opened() {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	bars, err := m.conductors()
	if err != nil {
		return nil, err
	}
	for _, b := range bars {
		out.bars = append(out.bars, func(q geom.Point3) geom.Point3 { v, _ := b.B(q); return v })
	}
	return out, nil
}

// addShields adds iron and walls that conduct; false where there is no iron, where one has no known end, and where one is so
// deep that it is nearer to an endless one: see wallsAt.change.
func (w *metals) addShields(l *layout.Layout) bool {
	iron := false
	for i := range l.Shields {
		s := &l.Shields[i]
		mat := &l.Materials[s.Material]
		conducts := mat.SigmaSPerM.V > 0 && !mat.SheetM.Set
		if !conducts && !mat.Magnetic() {
			continue
		}
		if !s.DepthM.Set || s.DepthM.V > deepWidths*outerM(s) {
			return false
		}
		p := shieldPiece(s)
		if conducts {
			p.SigmaSPerM = mat.SigmaSPerM.V
		}
		w.pieces = append(w.pieces, metalPiece{layout.ShieldIndex(i), wallM(s.Region()), p})
		iron = iron || mat.Magnetic()
	}
	return iron
}

// addBars adds the bars that conduct; false where one is not straight, has cuts, is magnetic or round.
func (w *metals) addBars(l *layout.Layout) bool {
	low, high := math.Inf(1), math.Inf(-1)
	for i := range w.pieces {
		low, high = math.Min(low, w.pieces[i].of.FromZM), math.Max(high, w.pieces[i].of.ToZM)
	}
	for i := range l.Sensors {
		for _, e := range l.Sensors[i].Elements() {
			low, high = math.Min(low, e.At.Z), math.Max(high, e.At.Z)
		}
	}
	mid, half := (low+high)/2, (high-low)/2
	some := false
	for i := range l.Bars {
		b := &l.Bars[i]
		if !(b.SigmaSPerM > 0) {
			continue
		}
		if len(b.Run) > 0 || len(b.Cuts) > 0 || b.MuRel > 1+nonMagnetic || b.Section.Kind == layout.Round {
			return false
		}
		size := b.SectionCorners().Box().Size()
		wide := math.Max(size.X, size.Y)
		reach := half + float64((barReach+0.5)*wide)
		end := barEnd{mid - reach, mid + reach, wide}
		if b.LengthM.Set {
			end.fromM, end.toM = math.Max(end.fromM, -b.LengthM.V/2), math.Min(end.toM, b.LengthM.V/2)
		}
		if !(end.toM > mid+half && end.fromM < mid-half) {
			return false
		}
		w.ends = append(w.ends, end)
		w.pieces = append(w.pieces, metalPiece{noShield, 0, eddy.Piece{
			Name: b.ID, Section: geom.Solid(b.Polygon()), FromZM: end.fromM, ToZM: end.toM, SigmaSPerM: b.SigmaSPerM,
			Core: eddy.Core{HalfM: half + wide/2, StepM: math.Max(wide/coreSteps, half/coreLayers)},
		}})
		some = true
	}
	return some
}

// shieldPiece returns a shield as a piece without conductivity.
func shieldPiece(s *layout.Shield) eddy.Piece {
	z := s.At.Point3().Z
	p := eddy.Piece{Name: s.ID, Section: s.Region(), FromZM: z - s.DepthM.V/2, ToZM: z + s.DepthM.V/2}
	if f := &s.Form; f.Kind == layout.Ring {
		p.Ring = &eddy.Ring{Centre: s.At.Point(), InnerM: f.InnerM.V / 2, OuterM: f.InnerM.V/2 + f.WallM.V, SlitM: f.SlitM.V, TurnRad: s.TurnRad.V}
	}
	return p
}

// response returns what the metals do, with iron of permeabilities picked from a range of each shield; made once.
func (w *metals) response(name string, sources []eddy.Source, ranges []muRange, pick func(muRange) float64) (*eddy.Response, error) {
	var mu []float64
	for i := range w.pieces {
		mu = append(mu, 1)
		if s := w.pieces[i].shield; s != noShield {
			mu[i] = math.Max(1, pick(ranges[s]))
		}
	}
	key := name + fmt.Sprint(mu)
	w.mu.Lock()
	defer w.mu.Unlock()
	if r, ok := keptResponse(w.responses[key]); ok {
		return r, nil
	}
	r, err := w.problem.RespondIron(mu, sources, nil)
	if err != nil {
		return nil, &Unknown{"eddy currents in space: " + err.Error()}
	}
	w.responses[key] = keepResponse(w.shelf, r)
	return r, nil
}

// resolved reports whether the meshes tell the skin of magnetic walls at freqHz, and real permeabilities the answer of iron
// that does not conduct along z. strayed is by how much of its permeability that is off.
func (w *metals) resolved(l *layout.Layout, freqHz float64, ranges []muRange) (strayed float64, ok bool) {
	for i := range w.pieces {
		p := &w.pieces[i]
		if p.shield == noShield {
			continue
		}
		mu := ranges[p.shield].high
		if p.of.SigmaSPerM > 0 {
			if mu > 1 && p.thinM > mostSkins*closedform.SkinDepthM(freqHz, p.of.SigmaSPerM, mu) {
				return 0, false
			}
			continue
		}
		mat := &l.Materials[l.Shields[p.shield].Material]
		off := portable.Abs(portable.Quotient(closedform.SheetMu(freqHz, mat.SigmaSPerM.V, mu, mat.SheetM.V), complex(mu, 0)) - 1)
		strayed = math.Max(strayed, off)
	}
	return strayed, true
}

const (
	mostStrayed = 0.02 // where the iron's answer to steady fields is told with real permeabilities too, and
	mostInEddy  = 0.3  // where that to eddy currents alone is
)

// metalsAt returns the metals at freqHz with iron in a range, nil where there are none to be taken.
func (m *Model) metalsAt(freqHz float64, ranges []muRange) (metalSides, error) {
	w, err := m.metalsOf()
	if err != nil || w == nil {
		return nil, err
	}
	strayed, ok := w.resolved(m.Layout, freqHz, ranges)
	if !ok || strayed > mostStrayed {
		return nil, nil
	}
	alone, err := m.barsAlone(m.cache.work, freqHz)
	if err != nil {
		return nil, err
	}
	small := m.smallSignal()
	out := metalSides{{of: w, freqHz: freqHz, ranges: ranges, small: small, pick: lowMu, still: lowMu, strayed: strayed, alone: alone}}
	if slices.ContainsFunc(ranges, muRange.open) {
		out = append(out, &metalsAt{of: w, freqHz: freqHz, ranges: ranges, small: small, pick: highMu, still: lowMu, strayed: strayed, alone: alone})
	}
	return out, nil
}

// barsInIron returns the metals where nothing but bars conducts, at freqHz and one permeability of iron, for the eddy
// currents of bars alone; nil where there are none to be taken.
func (m *Model) barsInIron(freqHz float64, ranges []muRange, pick func(muRange) float64) (*metalsAt, error) {
	w, err := m.metalsOf()
	if err != nil || w == nil {
		return nil, err
	}
	strayed, ok := w.resolved(m.Layout, freqHz, ranges)
	if !ok || strayed > mostInEddy {
		return nil, nil
	}
	alone, err := m.barsAlone(m.cache.work, freqHz)
	return &metalsAt{of: w, freqHz: freqHz, ranges: ranges, small: ranges, pick: pick, still: pick, strayed: strayed, alone: alone}, err
}

func lowMu(r muRange) float64  { return r.low }
func highMu(r muRange) float64 { return r.high }
