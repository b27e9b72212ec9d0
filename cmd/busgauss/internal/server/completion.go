package server

import (
	"context"
	"encoding/json"
	"path/filepath"
	"regexp"
	"slices"
	"strings"

	"busgauss/model/finding"
	"busgauss/schema"
	"busgauss/schema/load"
)

// completion offers what may stand at a place: keys of the schema, names of the file, words, units.
func (s *Server) completion(_ context.Context, p *placeParams) (any, error) {
	d, err := s.document(p.TextDocument.URI)
	if err != nil {
		return nil, err
	}
	at := d.snapshot()
	if answer, of := d.kept(); of.generation > 0 && answer.Foreign && strings.TrimSpace(of.text) != "" {
		return completionList{Items: []completionItem{}}, nil
	}
	w := wordAt(at.lines, at.offset(p.Position, s.encoding))
	o := offer{s: s, at: at, word: w, have: map[string]bool{}, items: []completionItem{}}
	_, o.last = d.indexOf()
	for _, t := range typedAt(filepath.ToSlash(d.path), at.lines, w) {
		if t.key {
			o.keys(&t)
		} else {
			o.values(&t)
		}
	}
	return completionList{Items: o.items}, nil
}

// offer collects what is offered for one word.
type offer struct {
	s     *Server
	at    snapshot
	word  word
	last  *load.Index // of the last text that had a tree; may be nil
	have  map[string]bool
	items []completionItem
}

// add offers text in place of what stands from a byte on to the end of the word. rank orders: less first.
func (o *offer) add(from int, label, text, rank string, item completionItem) {
	if o.have[label] {
		return
	}
	o.have[label] = true
	enc := o.s.encoding
	item.Label, item.SortText = finding.Clean(label), rank+label
	item.TextEdit = textEdit{stretch{o.at.place(from, enc), o.at.place(o.word.to, enc)}, text}
	o.items = append(o.items, item)
}

// keys offers the keys that a mapping may have and has not, and names where names are its keys.
func (o *offer) keys(t *typed) {
	tail := ": "
	if o.word.colon || o.word.quote != 0 {
		tail = ""
	}
	for _, k := range schema.KeysAt(t.path) {
		if slices.Contains(t.beside, k.Name) {
			continue
		}
		item := completionItem{Kind: itemProperty, Documentation: k.Description}
		rank := "1"
		if k.Required {
			rank, item.Detail = "0", "needed"
		}
		end := tail
		if tail != "" && (k.Map || k.List) {
			end = ":"
		}
		o.add(o.word.from, k.Name, k.Name+end, rank, item)
	}
	for i := range t.index.Slots {
		if slot := &t.index.Slots[i]; slot.At == t.at {
			o.slot(t, slot, o.word.from, tail)
		}
	}
}

// values offers what may stand at a value.
func (o *offer) values(t *typed) {
	from := o.word.from - len(t.before) // as it is written, unless it has escapes
	if from < 0 || o.at.text[from:o.word.from] != t.before {
		from = o.word.from
	}
	units := false
	for i := range t.index.Slots {
		slot := &t.index.Slots[i]
		if slot.At != t.at {
			continue
		}
		o.slot(t, slot, from, "")
		if slot.Unit != 0 {
			units = true
			o.units(t, slot)
		}
	}
	words, examples := schema.WordsAt(t.path)
	for _, text := range words {
		o.add(from, text, text, "1", completionItem{Kind: itemValue})
	}
	if number := t.before + o.at.text[o.word.from:o.word.to]; units && number == "" {
		for _, text := range examples {
			o.add(from, text, text, "2", completionItem{Kind: itemValue, Detail: "for example"})
		}
	}
}

// slot offers the names and words that the reader takes at a slot. tail follows a name that is a key.
func (o *offer) slot(t *typed, slot *load.Slot, from int, tail string) {
	for _, x := range []*load.Index{t.index, o.last} {
		if x == nil {
			continue
		}
		for _, n := range x.Names {
			if !slices.Contains(slot.Kinds, n.Kind) || n.ID == mark || slices.Contains(t.beside, n.ID) {
				continue
			}
			o.add(from, n.ID, o.plain(n.ID)+tail, "0", completionItem{Kind: itemReference, Detail: n.Kind})
		}
	}
	for _, text := range slot.Words {
		if !slices.Contains(t.beside, text) {
			o.add(from, text, text+tail, "1", completionItem{Kind: itemValue})
		}
	}
}

// numbered finds a number that a unit may follow, and the beginning of a unit that is glued to it.
var numbered = regexp.MustCompile(`^(-?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?)([ \x{00a0}]?)(\S*)$`)

// units offers the units of a quantity behind a number.
func (o *offer) units(t *typed, slot *load.Slot) {
	number := t.before + o.at.text[o.word.from:o.word.to]
	parts := numbered.FindStringSubmatch(number)
	if parts == nil {
		return
	}
	from := o.word.to - len(parts[3])
	for i, unit := range slot.Unit.Units() {
		text := unit
		if parts[2] == "" {
			text = " " + unit
		}
		o.add(from, unit, text, string(rune('a'+i)), completionItem{Kind: itemUnit, Detail: slot.Unit.String()})
	}
}

// bare are the names that YAML takes as text without quotes.
var bare = regexp.MustCompile(`^[\p{L}_][\p{L}\p{N}_./+-]*( [\p{L}\p{N}_./+-]+)*$`)

// plain returns a name as the file must have it: in quotes where YAML would take it for something else.
func (o *offer) plain(name string) string {
	switch {
	case o.word.quote == '\'':
		return strings.ReplaceAll(name, "'", "''")
	case o.word.quote == 0 && bare.MatchString(name) && !slices.Contains([]string{"true", "false", "null", "yes", "no", "on", "off"}, strings.ToLower(name)):
		return name
	}
	body, err := json.Marshal(name)
	if err != nil {
		return name
	}
	if o.word.quote == '"' {
		return string(body[1 : len(body)-1])
	}
	return string(body)
}
