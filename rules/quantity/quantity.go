// Package quantity is the set of computed quantities that house rules speak of:
// what they are called, what each of them means, and how it is computed from the
// model of a layout. A quantity is computed when a rule asks for it and not
// before. What cannot be computed is undecided and says why.
package quantity

import (
	"sync"

	"busgauss/model/layout"
	"busgauss/model/probe"
	"busgauss/rules/enforce"
)

// definition is one quantity of an object of type T, and how it is computed.
type definition[T any] struct {
	enforce.Quantity
	of func(T) enforce.Value
}

// Catalogue returns every quantity: those of channels, bars, shields and duties,
// each kind in the order in which it is printed.
func Catalogue() []enforce.Quantity {
	var out []enforce.Quantity
	out = append(out, plain(channelQuantities(), enforce.Channel)...)
	out = append(out, plain(barQuantities(), enforce.Bar)...)
	out = append(out, plain(shieldQuantities(), enforce.Shield)...)
	return append(out, plain(dutyQuantities(), enforce.Duty)...)
}

func plain[T any](list []definition[T], k enforce.Kind) []enforce.Quantity {
	var out []enforce.Quantity
	for _, d := range list {
		q := d.Quantity
		q.Kind = k
		out = append(out, q)
	}
	return out
}

// Facts computes the quantities of one layout. It may be used from several
// goroutines.
type Facts struct {
	m    *probe.Model
	l    *layout.Layout
	mu   sync.Mutex
	made map[string]any
}

// Of returns the quantities of the layout of m, at its level. Nothing is computed
// yet.
func Of(m *probe.Model) *Facts {
	return &Facts{m: m, l: m.Layout, made: map[string]any{}}
}

// Finer returns the quantities of the same layout with smaller bounds; false
// where there is no smaller one.
func (f *Facts) Finer() (enforce.Facts, bool) {
	m, ok := f.m.Refined()
	if !ok {
		return nil, false
	}
	return Of(m), true
}

// Objects returns the objects of a kind in the order of the layout: the sensors
// are its channels.
func (f *Facts) Objects(k enforce.Kind) []enforce.Object {
	var out []enforce.Object
	add := func(o enforce.Object) {
		o.Kind = k
		out = append(out, o)
	}
	switch k {
	case enforce.Channel:
		for i := range f.l.Sensors {
			add(enforce.Object{Name: f.l.Sensors[i].ID, Span: f.l.Sensors[i].Span})
		}
	case enforce.Bar:
		for i := range f.l.Bars {
			add(enforce.Object{Name: f.l.Bars[i].ID, Span: f.l.Bars[i].Span})
		}
	case enforce.Shield:
		for i := range f.l.Shields {
			add(enforce.Object{Name: f.l.Shields[i].ID, Span: f.l.Shields[i].Span})
		}
	case enforce.Duty:
		for i := range f.l.Duties {
			add(enforce.Object{Name: f.l.Duties[i].ID, Span: f.l.Duties[i].Span})
		}
	}
	return out
}

// Value computes one quantity of one object, once. An object or a quantity that
// does not exist is undecided.
func (f *Facts) Value(o enforce.Object, name string) enforce.Value {
	return once(f, "value of "+o.Kind.String()+"\x00"+o.Name+"\x00"+name,
		func() enforce.Value { return f.value(o, name) })
}

func (f *Facts) value(o enforce.Object, name string) enforce.Value {
	switch o.Kind {
	case enforce.Channel:
		if i, ok := f.l.Sensor(o.Name); ok {
			return ask(channelQuantities(), name, f.channel(i))
		}
	case enforce.Bar:
		if i, ok := f.l.Bar(o.Name); ok {
			return ask(barQuantities(), name, &bar{Facts: f, i: i, b: &f.l.Bars[i]})
		}
	case enforce.Shield:
		for i := range f.l.Shields {
			if k := &f.l.Shields[i]; k.ID == o.Name {
				return ask(shieldQuantities(), name, &shield{Facts: f, i: layout.ShieldIndex(i), k: k, mat: &f.l.Materials[k.Material]})
			}
		}
	case enforce.Duty:
		for i := range f.l.Duties {
			if d := &f.l.Duties[i]; d.ID == o.Name {
				return ask(dutyQuantities(), name, &duty{Facts: f, d: d})
			}
		}
	}
	return enforce.Undecided("the layout has no such " + o.Kind.String())
}

func ask[T any](list []definition[T], name string, object T) enforce.Value {
	for _, d := range list {
		if d.Name == name {
			return d.of(object)
		}
	}
	return enforce.Undecided("there is no such quantity")
}

// once computes what a key stands for the first time it is asked. Two goroutines
// may compute the same thing at the same time; both get the same.
func once[T any](f *Facts, key string, compute func() T) T {
	f.mu.Lock()
	got, ok := f.made[key].(T)
	f.mu.Unlock()
	if ok {
		return got
	}
	made := compute()
	f.mu.Lock()
	defer f.mu.Unlock()
	f.made[key] = made
	return made
}
