package server

import (
	"context"
	"math"
	"strings"

	"busgauss/model/si"
	"busgauss/model/span"
)

// inlayHints shows the field per ampere behind the key of each sensor in a range, once it is computed.
func (s *Server) inlayHints(_ context.Context, p *placeParams) (any, error) {
	d, err := s.document(p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	out := []inlayHint{}
	at := d.snapshot()
	answer, of := d.kept()
	if of.generation != at.generation || answer.Depth < Solved || answer.Layout == nil {
		return out, nil // the client is told to ask again when there is more
	}
	from, to := at.offset(p.Range.Start, s.encoding), at.offset(p.Range.End, s.encoding)
	for i := range answer.Layout.Sensors {
		sensor := &answer.Layout.Sensors[i]
		key := at.byteOf(sensor.Span.End)
		if !sensor.Span.Valid() || key < from || key > to {
			continue
		}
		if strings.HasPrefix(at.text[key:], ":") {
			key++
		}
		per, err := answer.Model.OwnPerAmpere(sensor)
		if err != nil || math.IsNaN(per.Value) {
			continue
		}
		out = append(out, inlayHint{
			Position: at.place(key, s.encoding), Label: perAmpere(per.Value), Kind: hintType, PaddingLeft: true,
			Tooltip: "own field per ampere at direct current, certain to ±" + si.Percent(per.Certainty()),
		})
	}
	return out, nil
}

// overlaps reports whether two spans share a place; an empty one lies where it stands.
func overlaps(a, b span.Span) bool { return !a.End.Before(b.Start) && !b.End.Before(a.Start) }
