package server

import (
	"context"

	"busgauss/model/span"
	"busgauss/schema/load"
)

// pointed returns the name at a place of d, or the one that what stands there refers to, and the span there.
func (s *Server) pointed(p *placeParams) (d *document, at snapshot, x *load.Index, n load.Name, where span.Span, err error) {
	if d, err = s.document(p.TextDocument.URI); err != nil {
		return
	}
	at = d.snapshot()
	if x, _ = d.indexOf(); x == nil {
		return
	}
	pos := at.pos(at.offset(p.Position, s.encoding))
	for _, one := range x.Names {
		if holds(one.At, pos) {
			return d, at, x, one, one.At, nil
		}
	}
	for i := range x.Slots {
		slot := &x.Slots[i]
		if !holds(slot.At, pos) {
			continue
		}
		if one, ok := x.Of(slot); ok {
			return d, at, x, one, slot.At, nil
		}
	}
	return
}

// definition returns where the name at a place is given.
func (s *Server) definition(_ context.Context, p *placeParams) (any, error) {
	d, at, _, n, _, err := s.pointed(p)
	if err != nil || n.ID == "" {
		return nil, err
	}
	return location{d.uri, at.stretch(n.At, s.encoding)}, nil
}

// references returns where the object at a place is named.
func (s *Server) references(_ context.Context, p *placeParams) (any, error) {
	d, at, x, n, _, err := s.pointed(p)
	if err != nil || n.ID == "" {
		return nil, err
	}
	out := []location{}
	if p.Context.IncludeDeclaration {
		out = append(out, location{d.uri, at.stretch(n.At, s.encoding)})
	}
	met := map[span.Span]bool{} // below an alias a place is read more than once
	for i := range x.Slots {
		slot := &x.Slots[i]
		if of, ok := x.Of(slot); ok && of == n && !met[slot.At] {
			met[slot.At] = true
			out = append(out, location{d.uri, at.stretch(slot.At, s.encoding)})
		}
	}
	return out, nil
}
