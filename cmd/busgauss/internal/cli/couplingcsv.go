package cli

import (
	"bytes"
	"encoding/csv"
	"io"
	"strconv"

	"busgauss/model/finding"
	"busgauss/model/layout"
)

// couplingCSV writes one number a row (RFC 4180, lines end in a line feed alone):
//
//	quantity      matrix, inverse, condition, unread or leftover
//	frequency_hz  of the row
//	row, column   sensor and bar of the matrix, bar and sensor of the inverse, bar and
//	              bar that no sensor reads, bar and bar of what the inverse at direct
//	              current leaves; a circuit that the
//	              layout declares stands in place of its bars
//	re, im        empty where there is no number
//	unit          T/A, A/T, A/A or 1
func couplingCSV(w io.Writer, r *couplingReport, l *layout.Layout) error {
	var text bytes.Buffer
	out := csv.NewWriter(&text)
	var err error
	put := func(quantity string, hz float64, row, column, re, im, unit string) {
		if e := out.Write([]string{quantity, number(hz), cell(row), cell(column), re, im, unit}); err == nil {
			err = e
		}
	}
	complexPut := func(quantity string, hz float64, row, column string, v complexT, unit string) {
		put(quantity, hz, row, column, number(v[0]), number(v[1]), unit)
	}
	if err := out.Write([]string{"quantity", "frequency_hz", "row", "column", "re", "im", "unit"}); err != nil {
		return err
	}
	for _, f := range r.Frequencies {
		hz := f.FrequencyHz
		if f.Undecided != "" {
			put("matrix", hz, "", "", "", "", "T/A")
			continue
		}
		for _, s := range f.Sensors {
			for k := range l.Circuits {
				name := l.Circuits[k].ID
				complexPut("matrix", hz, s.Sensor, name, s.PerBar[name].TPerA, "T/A")
			}
		}
		for _, row := range f.Inverse {
			for _, s := range f.Sensors {
				complexPut("inverse", hz, row.Bar, s.Sensor, row.PerSensor[s.Sensor], "A/T")
			}
		}
		if f.Condition != nil {
			put("condition", hz, "", "", number(*f.Condition), "0", "1")
		}
		for _, x := range f.Unread {
			for _, row := range f.Inverse {
				complexPut("unread", hz, row.Bar, x.Bar, x.AddsA[row.Bar], "A/A")
			}
		}
		for _, x := range f.Leftover {
			for k := range l.Circuits {
				name := l.Circuits[k].ID
				if v, ok := x.PerBar[name]; ok {
					complexPut("leftover", hz, x.Bar, name, v, "A/A")
				}
			}
		}
	}
	out.Flush()
	if err == nil {
		err = out.Error()
	}
	if err == nil {
		_, err = text.WriteTo(w)
	}
	return err
}

func number(v float64) string { return strconv.FormatFloat(v, 'g', 9, 64) }

// cell keeps a name from moving a terminal, and from being taken for a formula by a
// table program: one that begins as a formula does gets an apostrophe in front.
func cell(name string) string {
	name = finding.Clean(name)
	if name != "" && (name[0] == '=' || name[0] == '+' || name[0] == '-' || name[0] == '@') {
		return "'" + name
	}
	return name
}
