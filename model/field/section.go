package field

import (
	"math"
	"sync"

	"busgauss/model/geom"
	"busgauss/model/layout"
	"busgauss/model/work"
)

// section is the field of the plane section at one frequency, as if bars and shields
// had no end: bare, divided, *plane or *latePlane.
type section interface {
	// at returns the flux density at p in tesla per ampere of bar b, without what an
	// enclosure far away may add; a rough one without the bound of the solver.
	at(p geom.Point, b layout.BarIndex, rough bool) Vec
	// uniform returns the flux density at p in tesla per tesla of a uniform field along
	// x and along y.
	uniform(p geom.Point, rough bool) (alongX, alongY Vec)
	// wall returns the flux density of shield i for the given currents.
	wall(i layout.ShieldIndex, peakA []complex128) (Wall, error)
	// sketch returns the field at q per ampere of bar b, without bounds.
	sketch(q geom.Point, b layout.BarIndex) SectionPoint
	// sides returns the field at either end of the permeability range of iron; one
	// where there is no range.
	sides() []section
}

// latePlane is a plane solution that is made when first asked for: in space where the field is not carried over
// from it, so that only comparisons and losses ask for the section.
type latePlane struct {
	work  *work.Budget
	open  bool // the permeability of iron has a range
	once  sync.Once
	make  func() (*plane, error)
	plane *plane
	err   error
}

func (l *latePlane) solved() (*plane, error) {
	l.once.Do(func() { l.plane, l.err = l.make() })
	if l.err != nil {
		l.work.Missing()
	}
	return l.plane, l.err
}

func (l *latePlane) at(p geom.Point, b layout.BarIndex, rough bool) Vec {
	s, err := l.solved()
	if err != nil {
		return notKnown
	}
	return s.at(p, b, rough)
}

func (l *latePlane) uniform(p geom.Point, rough bool) (alongX, alongY Vec) {
	s, err := l.solved()
	if err != nil {
		return notKnown, notKnown
	}
	return s.uniform(p, rough)
}

func (l *latePlane) wall(i layout.ShieldIndex, peakA []complex128) (Wall, error) {
	s, err := l.solved()
	if err != nil {
		return Wall{}, err
	}
	return s.wall(i, peakA)
}

func (l *latePlane) sketch(q geom.Point, b layout.BarIndex) SectionPoint {
	s, err := l.solved()
	if err != nil {
		nan := complex(math.NaN(), 0)
		return SectionPoint{nan, nan, nan}
	}
	return s.sketch(q, b)
}

func (l *latePlane) sides() []section {
	if !l.open {
		return []section{l}
	}
	out := make([]section, 2)
	for k := range out {
		out[k] = &latePlane{work: l.work, make: func() (*plane, error) {
			p, err := l.solved()
			if err != nil {
				return nil, err
			}
			return p.sides()[k].(*plane), nil
		}}
	}
	return out
}

// planeOf returns the solution of a section, solved if it is not yet; false for a closed form and where there is none.
func planeOf(s section) (*plane, bool) {
	switch p := s.(type) {
	case *plane:
		return p, true
	case *latePlane:
		in, err := p.solved()
		return in, err == nil
	}
	return nil, false
}
