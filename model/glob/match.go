package glob

import "strings"

// Match reports whether a whole name, its parts divided by /, fits the pattern.
func (p *Pattern) Match(name string) bool {
	now := p.after(name)
	return now.has[len(p.steps)-1]
}

// Below reports whether a name below a folder could fit: where not, nobody need look into it.
func (p *Pattern) Below(folder string) bool {
	now := p.after(strings.TrimSuffix(folder, "/") + "/")
	for _, i := range now.list {
		if p.steps[i].kind != fork && p.steps[i].kind != match {
			return true
		}
	}
	return false
}

// states are places of the machine, each once.
type states struct {
	list []int
	has  []bool
}

func (p *Pattern) after(text string) *states {
	now, next := &states{has: make([]bool, len(p.steps))}, &states{has: make([]bool, len(p.steps))}
	p.reach(now, 0)
	for text != "" {
		r, n := first(text)
		text = text[n:]
		for _, i := range now.list {
			if p.steps[i].takes(r) {
				p.reach(next, i+1)
			}
		}
		now, next = next, now
		for _, i := range next.list {
			next.has[i] = false
		}
		next.list = next.list[:0]
	}
	return now
}

// reach adds a state and all that forks lead to from there.
func (p *Pattern) reach(s *states, first int) {
	todo := []int{first}
	for len(todo) > 0 {
		i := todo[len(todo)-1]
		todo = todo[:len(todo)-1]
		if s.has[i] {
			continue
		}
		s.has[i] = true
		s.list = append(s.list, i)
		todo = append(todo, p.steps[i].to...)
	}
}

func (s *step) takes(r rune) bool {
	switch s.kind {
	case one:
		return r == s.char
	case any:
		return r != '/'
	case some:
		return r != '/' && s.set.has(r) // IEEE Std 1003.1, 2.13.3: a slash is matched by a slash alone
	case all:
		return true
	}
	return false
}

// Special reports whether a text holds a character that is none of a plain name.
func Special(text string) bool { return strings.ContainsAny(text, `*?[{`) }

// Split divides a pattern at the last slash before its first special character: a folder, "." for none, and the pattern of what
// is below it.
func Split(pattern string) (folder, rest string) {
	at := strings.IndexAny(pattern, `*?[{\`)
	if at < 0 {
		at = len(pattern)
	}
	slash := strings.LastIndexByte(pattern[:at], '/')
	switch {
	case slash < 0:
		return ".", pattern
	case slash == 0:
		return "/", pattern[1:]
	}
	return pattern[:slash], pattern[slash+1:]
}
