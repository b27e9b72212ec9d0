package work

import "sync"

// Shelf keeps what was computed, up to so many bytes: beyond them what was used longest ago is dropped, and made again by who
// needs it once more. A nil one keeps everything.
type Shelf struct {
	mu    sync.Mutex
	most  int64
	sum   int64
	clock int64
	kept  map[*Item]bool
}

// Item is a place for one thing.
type Item struct {
	of    *Shelf
	value any
	bytes int64
	used  int64
}

// NewShelf returns a shelf of so many bytes.
func NewShelf(bytes int64) *Shelf { return &Shelf{most: bytes, kept: map[*Item]bool{}} }

// Item returns an empty place.
func (s *Shelf) Item() *Item { return &Item{of: s} }

// Put puts a thing of so many bytes into its place, and drops others for it.
func (i *Item) Put(value any, bytes int64) {
	s := i.of
	if s == nil {
		i.value = value
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.clock++
	s.sum += bytes - i.bytes
	i.value, i.bytes, i.used = value, bytes, s.clock
	s.kept[i] = true
	for s.sum > s.most && len(s.kept) > 1 {
		s.dropOldest(i)
	}
}

// Drop empties the place.
func (i *Item) Drop() {
	s := i.of
	if s == nil {
		i.value = nil
		return
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.sum -= i.bytes
	i.value, i.bytes = nil, 0
	delete(s.kept, i)
}

// dropOldest drops what was used longest ago, but for one item.
func (s *Shelf) dropOldest(but *Item) {
	var oldest *Item
	for i := range s.kept { // the times are all different
		if i != but && (oldest == nil || i.used < oldest.used) {
			oldest = i
		}
	}
	s.sum -= oldest.bytes
	oldest.value, oldest.bytes = nil, 0
	delete(s.kept, oldest)
}

// Value returns the thing, nil where it was never put or is dropped.
func (i *Item) Value() any {
	s := i.of
	if s == nil {
		return i.value
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if i.value != nil {
		s.clock++
		i.used = s.clock
	}
	return i.value
}

// Peek is Value without counting as a use.
func (i *Item) Peek() any {
	if s := i.of; s != nil {
		s.mu.Lock()
		defer s.mu.Unlock()
	}
	return i.value
}

// Full reports whether things are about to be dropped: then what is used first matters, and who does several things at the
// same time does them one after the other.
func (s *Shelf) Full() bool {
	if s == nil {
		return false
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.sum > s.most/2
}

// Bytes returns how much is kept.
func (s *Shelf) Bytes() int64 {
	if s == nil {
		return 0
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.sum
}
