package page

import "strings"

// table is a table of texts, whose first column heads the rows. On a narrow screen each row becomes
// a card.
type table struct {
	ID, Caption string
	Head        []string
	Widths      []int // of the columns in per cent; nil: as the texts want
	Rows        []tableRow
}

type tableRow struct {
	ID    string
	Cells []string
}

func tableOf(caption string, widths []int, head ...string) *table {
	return &table{Caption: caption, Widths: widths, Head: head}
}

func (t *table) add(cells ...string) { t.Rows = append(t.Rows, tableRow{Cells: cells}) }

// orNil returns t, or nil where it has no row.
func (t *table) orNil() *table {
	if len(t.Rows) == 0 {
		return nil
	}
	return t
}

// Label returns what a cell of column k is called on a card.
func (t *table) Label(k int) string {
	if k >= len(t.Head) {
		return ""
	}
	return t.Head[k]
}

// orDash returns the text, or a dash where there is none.
func orDash(text string) string {
	if strings.TrimSpace(text) == "" {
		return "–"
	}
	return text
}
