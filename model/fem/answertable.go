package fem

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"slices"
	"strings"
	"sync"
)

// table holds answers by question. It may be used from several goroutines.
type table struct {
	mu      sync.Mutex
	answers map[string][]float64
	changed bool
}

func newTable() *table { return &table{answers: map[string][]float64{}} }

func (t *table) get(question string) ([]float64, bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	v, ok := t.answers[question]
	return v, ok
}

func (t *table) put(question string, answer []float64) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.answers[question], t.changed = answer, true
}

func appendNumbers(to []byte, numbers []float64) []byte {
	for _, x := range numbers {
		to = binary.LittleEndian.AppendUint64(to, math.Float64bits(x))
	}
	return to
}

// tableMagic is the first line of the bytes of a table.
const tableMagic = "plane answers, format 2\n"

// bytes returns the table, the questions in their order: each with its length, then the answer with its length. changed says
// that there is more in it than was read.
func (t *table) bytes() (body []byte, changed bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	if !t.changed {
		return nil, false
	}
	var questions []string
	for q := range t.answers {
		questions = append(questions, q)
	}
	slices.SortFunc(questions, strings.Compare)
	body = []byte(tableMagic)
	for _, q := range questions {
		body = binary.AppendUvarint(body, uint64(len(q)))
		body = append(body, q...)
		body = binary.AppendUvarint(body, uint64(len(t.answers[q])))
		body = appendNumbers(body, t.answers[q])
	}
	return body, true
}

var errCut = errors.New("cut short")

// read fills an empty table; it stays empty where the bytes are not those of one.
func (t *table) read(body []byte) {
	body, ok := bytes.CutPrefix(body, []byte(tableMagic))
	if !ok {
		return
	}
	length := func() (int, error) {
		n, size := binary.Uvarint(body)
		if size <= 0 || n > uint64(len(body)) {
			return 0, errCut
		}
		body = body[size:]
		return int(n), nil
	}
	answers := map[string][]float64{}
	for len(body) > 0 {
		n, err := length()
		if err != nil || n > len(body) {
			return
		}
		question := string(body[:n])
		body = body[n:]
		if n, err = length(); err != nil || 8*n > len(body) {
			return
		}
		answer := make([]float64, n)
		for i := range answer {
			answer[i] = math.Float64frombits(binary.LittleEndian.Uint64(body[8*i:]))
		}
		body = body[8*n:]
		answers[question] = answer
	}
	t.answers = answers
}
