package fem

import (
	"sync"

	"busgauss/model/geom"
	"busgauss/model/work"
)

// keptEngine answers what its table holds. Each place and each question that was not asked before in this run takes
// its work, whether it is in the table or not, and so do a factor that was let go and a solution that was dropped.
type keptEngine struct {
	t     *table
	opt   Options
	make  func(Options) engine
	price price
	takes []float64 // steps of each mesh
	near  []nearPlace

	mu       sync.Mutex
	here     *work.Item // a *presence
	live     bool       // the factor is there
	asked    map[string]bool
	factored func() // see Solution.WhenFactored

	// quick holds the answers of this run at places once more, for they are asked for over and over.
	quickMu sync.Mutex
	quick   map[placeQuestion][]float64

	// bounded are the places whose values with bounds a solution would know by now: a rough value there is that value, which
	// another sum gives, so that its last digits hang on what was asked in this run.
	boundedMu sync.Mutex
	bounded   map[geom.Point]bool
}

// placeQuestion is a question about a place: its letter and the source.
type placeQuestion struct {
	letter byte
	at     geom.Point
	src    int
}

// place returns the answer to a question about a place; nil where the work is not there.
func (k *keptEngine) place(p placeQuestion, answer func(engine) []float64) []float64 {
	k.quickMu.Lock()
	v := k.quick[p]
	k.quickMu.Unlock()
	if v != nil || !k.payPoint(p.letter, p.at) {
		return v
	}
	v = k.ask(p.letter, []float64{p.at.X, p.at.Y, float64(p.src)}, answer)
	k.quickMu.Lock()
	defer k.quickMu.Unlock()
	if k.quick == nil {
		k.quick = map[placeQuestion][]float64{}
	}
	k.quick[p] = v
	return v
}

// presence is a solution that counts as there; nil before something is asked that the table does not hold.
type presence struct{ e engine }

func (k *keptEngine) solved() engine {
	k.mu.Lock()
	defer k.mu.Unlock()
	in, ok := k.here.Value().(*presence)
	if !ok {
		for _, steps := range k.takes {
			k.opt.Work.Spend(steps)
		}
		in = &presence{}
		k.live = true
	}
	if in.e == nil {
		in = &presence{k.make(k.opt)}
		k.here.Put(in, int64(k.price.bytes))
		if !k.live {
			in.e.letGo()
		}
	}
	return in.e
}

// pay takes the work of an answer the first time that it is asked for; false where it is not there. adjoint says that the
// answer takes the factor.
func (k *keptEngine) pay(question string, steps float64, adjoint bool) bool {
	k.mu.Lock()
	if k.asked[question] {
		k.mu.Unlock()
		return true
	}
	_, in := k.here.Value().(*presence)
	again := adjoint && !(in && k.live)
	switch {
	case !in:
		for _, v := range k.takes {
			steps += v
		}
	case again:
		steps += k.price.factor
	}
	if k.opt.Work.Take(steps, what(k.price.unknowns, "an answer of a solution")) != nil {
		k.mu.Unlock()
		return false
	}
	k.asked[question] = true
	if !in {
		k.here.Put(&presence{}, int64(k.price.bytes))
		k.live, again = true, true
	}
	k.live = k.live || adjoint
	told := k.factored
	k.mu.Unlock()
	if again && told != nil {
		told()
	}
	return true
}

// ask returns the answer to a question: a letter and the numbers that go with it.
func (k *keptEngine) ask(letter byte, numbers []float64, answer func(engine) []float64) []float64 {
	question := string(appendNumbers([]byte{letter}, numbers))
	if v, ok := k.t.get(question); ok {
		return v
	}
	v := answer(k.solved())
	k.t.put(question, v)
	return v
}

// askPaid is ask for an answer that takes an adjoint solution or so many; nil where the work is not there.
func (k *keptEngine) askPaid(adjoints float64, letter byte, numbers []float64, answer func(engine) []float64) []float64 {
	if !k.pay(string(appendNumbers([]byte{letter}, numbers)), adjoints*k.price.dual, true) {
		return nil
	}
	return k.ask(letter, numbers, answer)
}

// payPoint is pay for a place; what it takes serves all sources.
func (k *keptEngine) payPoint(letter byte, q geom.Point) bool {
	steps, adjoint := k.price.point, letter == 'b' && !k.isNear(q)
	if adjoint {
		steps += k.price.dual
	}
	return k.pay(string(appendNumbers([]byte{letter}, []float64{q.X, q.Y})), steps, adjoint)
}
