package fem

import (
	"math"
	"slices"
	"sync"

	"busgauss/model/digest"
	"busgauss/model/geom"
)

// Answers keeps what linear solutions answered, so that a problem that was solved before is not solved again unless
// something else is asked of it: then it is, with the same result. What is said is the same to the last digit with and without, for
// the same questions in the same order, whatever was asked earlier. Answers may be used from several goroutines.
type Answers struct {
	load func(key string) ([]byte, bool)

	mu     sync.Mutex
	tables map[string]*table
}

// NewAnswers returns answers of which load gives those of an earlier time: what Changed returned under the same key; nil: none.
func NewAnswers(load func(key string) ([]byte, bool)) *Answers {
	return &Answers{load: load, tables: map[string]*table{}}
}

// Changed returns the answers under the keys to which some were added, and the keys in their order.
func (a *Answers) Changed() (keys []string, of map[string][]byte) {
	a.mu.Lock()
	defer a.mu.Unlock()
	of = map[string][]byte{}
	for key, t := range a.tables {
		if body, changed := t.bytes(); changed {
			keys = append(keys, key)
			of[key] = body
		}
	}
	slices.Sort(keys)
	return keys, of
}

// keyOf names a problem with all that its solution hangs on; false where that has no name, since the solution whose mesh it
// starts on has none. Every field of the problem and of the options counts.
func keyOf(p *Problem, freqHz float64, opt Options) (string, bool) {
	like := "none"
	if opt.Like != nil {
		if like = opt.Like.key; like == "" {
			return "", false
		}
	}
	opt.Like, opt.Meshes, opt.Answers, opt.Work, opt.Shelf = nil, nil, nil, nil, nil // meshes are the same whoever made them
	return digest.Of(tableMagic, p, freqHz, opt, like), true
}

// engine returns an engine that knows the answers under key, and whose problem is solved by make when another is asked for:
// at once where nothing is known. It takes the same work in both cases.
func (a *Answers) engine(key string, opt Options, make func(Options) (engine, []float64, error)) (engine, error) {
	k := &keptEngine{t: a.table(key), opt: opt, asked: map[string]bool{}, bounded: map[geom.Point]bool{}, here: opt.Shelf.Item(), live: true}
	k.make = func(opt Options) engine {
		opt.Work = nil
		e, _, err := make(opt)
		if err != nil {
			panic("fem: a problem that was solved before is not solved now")
		}
		return e
	}
	var e engine
	if _, solved := k.t.get(headKey); !solved {
		var takes []float64
		var err error
		if e, takes, err = make(opt); err != nil {
			return nil, err
		}
		k.t.put(headKey, headOf(e, takes))
		k.read()
	} else {
		k.read()
		for _, steps := range k.takes {
			if err := opt.Work.Take(steps, what(k.price.unknowns, "a solution")); err != nil {
				return nil, err
			}
		}
	}
	k.here.Put(&presence{e}, int64(k.price.bytes))
	return k, nil
}

func (a *Answers) table(key string) *table {
	a.mu.Lock()
	defer a.mu.Unlock()
	t, ok := a.tables[key]
	if !ok {
		t = newTable()
		if a.load != nil {
			if body, ok := a.load(key); ok {
				t.read(body)
			}
		}
		a.tables[key] = t
	}
	return t
}

func (k *keptEngine) size() (unknowns, levels int) { return k.price.unknowns, len(k.takes) }

func (k *keptEngine) grid() *grid { return k.solved().grid() }

func (k *keptEngine) letGo() {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.live = false
	if in, ok := k.here.Value().(*presence); ok && in.e != nil {
		in.e.letGo()
	}
}

func (k *keptEngine) field(q geom.Point, src int) (bx, by complex128, bound float64, total bool) {
	k.boundedMu.Lock()
	k.bounded[q] = true
	k.boundedMu.Unlock()
	return k.value(q, src)
}

func (k *keptEngine) value(q geom.Point, src int) (bx, by complex128, bound float64, total bool) {
	v := k.place(placeQuestion{'b', q, src}, func(e engine) []float64 {
		x, y, bound, total := e.field(q, src)
		return append(parts(x, y), bound, truth(total))
	})
	if v == nil {
		return nanC, nanC, math.NaN(), true
	}
	return complex(v[0], v[1]), complex(v[2], v[3]), v[4], v[5] == 1
}

func (k *keptEngine) valued() []geom.Point       { return k.solved().valued() }
func (k *keptEngine) cost() price                { return k.price }
func (k *keptEngine) clear(q geom.Point) float64 { return k.solved().clear(q) }

func (k *keptEngine) rough(q geom.Point, src int) (bx, by complex128, total bool) {
	k.boundedMu.Lock()
	bounded := k.bounded[q]
	k.boundedMu.Unlock()
	if bounded {
		bx, by, _, total = k.value(q, src)
		return bx, by, total
	}
	return k.roughAlone(q, src)
}

func (k *keptEngine) roughAlone(q geom.Point, src int) (bx, by complex128, total bool) {
	v := k.place(placeQuestion{'q', q, src}, func(e engine) []float64 {
		x, y, total := e.roughAlone(q, src)
		return append(parts(x, y), truth(total))
	})
	if v == nil {
		return nanC, nanC, true
	}
	return complex(v[0], v[1]), complex(v[2], v[3]), v[4] == 1
}

func (k *keptEngine) sketch(q geom.Point, src int) (a, bx, by complex128) {
	v := k.ask('s', []float64{q.X, q.Y, float64(src)}, func(e engine) []float64 { return parts(e.sketch(q, src)) })
	return complex(v[0], v[1]), complex(v[2], v[3]), complex(v[4], v[5])
}

// wall makes a wall of answers that hold for any currents, but for its rms.
func (k *keptEngine) wall(piece int, currents []complex128) (Wall, error) {
	if err := k.opt.Work.Take(0, what(k.price.unknowns, "a wall of a solution")); err != nil {
		return Wall{}, err
	}
	p := k.wallParts(piece)
	w := p.wall(currents, func(at int) float64 { return boundSafety * weighed(currents, k.wallPairs(piece, at, currents)) })
	if p.reacts {
		w.Rms = sync.OnceValues(func() (rmsT, boundT float64) { return k.rms(piece, currents) })
	}
	return w, nil
}

func (k *keptEngine) rms(piece int, currents []complex128) (rmsT, boundT float64) {
	v := k.askPaid(2, 'r', append([]float64{float64(piece)}, parts(currents...)...), func(e engine) []float64 {
		w, err := e.wall(piece, currents)
		if err != nil {
			panic("fem: a linear wall that is not known")
		}
		rmsT, boundT := w.Rms()
		return []float64{rmsT, boundT}
	})
	if v == nil {
		return noRms()
	}
	return v[0], v[1]
}

func (k *keptEngine) wallParts(piece int) *wallParts {
	v := k.ask('w', []float64{float64(piece)}, func(e engine) []float64 {
		p := e.wallParts(piece)
		sources := 0
		if len(p.stations) > 0 {
			sources = len(p.stations[0].drop)
		}
		out := []float64{truth(p.reacts), float64(sources)}
		for _, st := range p.stations {
			out = append(append(out, st.middle.X, st.middle.Y, st.lengthM), parts(st.drop...)...)
		}
		return out
	})
	p := &wallParts{reacts: v[0] == 1}
	for sources, v := int(v[1]), v[2:]; len(v) > 0; v = v[3+2*sources:] {
		st := wallStation{middle: geom.Point{X: v[0], Y: v[1]}, lengthM: v[2]}
		for j := range sources {
			st.drop = append(st.drop, complex(v[3+2*j], v[4+2*j]))
		}
		p.stations = append(p.stations, st)
	}
	return p
}

func (k *keptEngine) wallPairs(piece, station int, currents []complex128) []float64 {
	v := k.askPaid(stationsAtOnce, 'p', []float64{float64(piece), float64(station)}, func(e engine) []float64 { return e.wallPairs(piece, station, currents) })
	if v == nil {
		return unpaidEta(len(currents) + 2)
	}
	return v
}

func (k *keptEngine) resistance(bar, src int) Resistance {
	v := k.askPaid(1, 'o', []float64{float64(bar), float64(src)}, func(e engine) []float64 {
		r := e.resistance(bar, src)
		return []float64{r.DCOhmPerM, r.TotalOhmPerM, r.OwnOhmPerM, r.TotalRatio, r.OwnRatio, r.RatioBound}
	})
	if v == nil {
		v = unpaidEta(6)
	}
	return Resistance{DCOhmPerM: v[0], TotalOhmPerM: v[1], OwnOhmPerM: v[2], TotalRatio: v[3], OwnRatio: v[4], RatioBound: v[5]}
}

func (k *keptEngine) losses(currents []complex128) []float64 {
	v := k.askPaid(1, 'l', parts(currents...), func(e engine) []float64 { return e.losses(currents) })
	if v == nil {
		return unpaidEta(len(currents))
	}
	return slices.Clone(v)
}

func (k *keptEngine) induced(piece, bar, src int) (minusV complex128, bound float64) {
	v := k.askPaid(1, 'i', []float64{float64(piece), float64(bar), float64(src)}, func(e engine) []float64 {
		v, bound := e.induced(piece, bar, src)
		return append(parts(v), bound)
	})
	if v == nil {
		return nanC, math.NaN()
	}
	return complex(v[0], v[1]), v[2]
}

// Distributions are too long to be kept.

func (k *keptEngine) eddyCurrents() EddyCurrents               { return k.solved().eddyCurrents() }
func (k *keptEngine) eddyB(q geom.Point) (bx, by []complex128) { return k.solved().eddyB(q) }
func (k *keptEngine) filaments() []Filament                    { return k.solved().filaments() }

func parts(of ...complex128) []float64 {
	out := make([]float64, 0, 2*len(of)+2)
	for _, z := range of {
		out = append(out, real(z), imag(z))
	}
	return out
}

func truth(b bool) float64 {
	if b {
		return 1
	}
	return 0
}
