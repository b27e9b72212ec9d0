package load

import (
	"busgauss/schema/node"
)

// everyChannel is the word for all sensors.
const everyChannel = "all"

// channel resolves the key of s as the name of a sensor or, where that is taken, as
// the word for all of them. what is what the key stands for: "a need".
func (s *spot) channel(what string, takesAll bool) {
	if takesAll && s.key == everyChannel {
		return
	}
	s.id = s.key
	key := &spot{r: s.r, up: s.up, key: s.key, edit: s.edit, id: s.id, name: what,
		n: &node.Node{Kind: node.Text, Text: s.key, Span: s.edit}}
	if takesAll {
		key.takes(Slot{Words: []string{everyChannel}})
	}
	key.reference(aSensor)
}
