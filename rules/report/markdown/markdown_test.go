package markdown

import (
	"bytes"
	"encoding/xml"
	"flag"
	"fmt"
	"io"
	"strings"
	"testing"

	"busgauss/fixtures"
	"busgauss/rules/report"
	"busgauss/rules/report/internal/sample"
)

var _ = flag.Bool("update", false, "rewrite the golden files")

func written(t *testing.T, r *report.Result, o Options) string {
	t.Helper()
	var out bytes.Buffer
	if err := Write(&out, r, o); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestGolden(t *testing.T) {
	fixtures.Golden(t, "findings.md", []byte(written(t, sample.Ferry(), Options{})))
	fixtures.Golden(t, "passes.md", []byte(written(t, sample.Ferry(), Options{Passes: true})))
	fixtures.Golden(t, "nothing.md", []byte(written(t, &report.Result{Tool: report.Tool{Name: "busgauss"}}, Options{})))
}

// blocks parts a report at empty lines, as a reader of Markdown does with blocks
// of HTML (CommonMark 0.31, section 4.6, start condition 6), and returns those
// of HTML. What is left must be the writer's own heading and summary.
func blocks(t *testing.T, text string) []string {
	t.Helper()
	parts := strings.Split(strings.TrimSpace(text), "\n\n")
	if parts[0] != "### busgauss" || len(parts) < 2 || strings.ContainsAny(parts[1], "<>`*_[") {
		t.Fatalf("starts with %q", parts[:min(2, len(parts))])
	}
	for _, part := range parts[2:] {
		if !strings.HasPrefix(part, "<table>\n") && !strings.HasPrefix(part, "<details>") {
			t.Errorf("a block that is no table: %q", part)
		}
	}
	return parts[2:]
}

// cells reads a block as strict XML and returns the words of every row; it fails
// on an element or attribute that the writer does not use, on text of files
// outside code, and on rows that differ in length.
func cells(t *testing.T, block string) [][]string {
	t.Helper()
	var rows [][]string
	var open []string
	dec := xml.NewDecoder(strings.NewReader(strings.ReplaceAll(block, "<br>", "<br/>")))
	for {
		token, err := dec.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatalf("%v in %q", err, block)
		}
		switch token := token.(type) {
		case xml.StartElement:
			name := token.Name.Local
			if !strings.Contains(" table tr th td code pre br details summary p ", " "+name+" ") || len(token.Attr) > 0 {
				t.Errorf("element %s %v in %q", name, token.Attr, block)
			}
			open = append(open, name)
			switch name {
			case "tr":
				rows = append(rows, nil)
			case "th", "td":
				rows[len(rows)-1] = append(rows[len(rows)-1], "")
			}
		case xml.EndElement:
			open = open[:len(open)-1]
		case xml.CharData:
			if len(open) > 0 && (open[len(open)-1] == "code" || open[len(open)-1] == "pre" || open[len(open)-1] == "td" || open[len(open)-1] == "th") {
				row := rows[len(rows)-1]
				row[len(row)-1] += string(token)
			}
		default:
			t.Errorf("%T in %q", token, block)
		}
	}
	for _, row := range rows {
		if len(row) != len(rows[0]) {
			t.Errorf("row %q under %q", row, rows[0])
		}
	}
	return rows
}

func TestTables(t *testing.T) {
	all := blocks(t, written(t, sample.Ferry(), Options{Passes: true}))
	if len(all) != 5 {
		t.Fatalf("%d tables", len(all))
	}
	var order []string
	findings := cells(t, all[0])
	for _, row := range findings {
		order = append(order, row[0]+" "+row[3])
	}
	want := "level rule, error stray-ratio, error file-missing, warning shield-saturation, warning range-use, note bar-heating, none range-use"
	if got := strings.Join(order, ", "); got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if got := findings[4][2]; got != `sensor "SW" uses 67.5 % of its range, <none> of it & "more"number: 2.70 mT, limit at least 4.00 mT, margin -32.5 %, certainty not known` {
		t.Errorf("a cell is %q", got)
	}
	if got := findings[1][1]; got != sample.RootPath+":21:9" {
		t.Errorf("a place is %q", got)
	}
	for i, want := range []string{"2 permitted", "2 passed", "1 not applicable", "2 assumed defaults"} {
		if !strings.HasPrefix(all[i+1], "<details><summary>"+want+"</summary>\n") {
			t.Errorf("table %d starts %.60q, want %s", i+1, all[i+1], want)
		}
		cells(t, all[i+1])
	}
	if got := cells(t, all[1])[1][2]; got != "until 2026-12-31, by Head of Design, FER-12: prototype" {
		t.Errorf("a permission is %q", got)
	}
	if got := len(blocks(t, written(t, sample.Ferry(), Options{}))); got != 3 {
		t.Errorf("without passes: %d tables", got)
	}
}

// Hosts refuse a whole summary beyond 1 MiB.
func TestLimit(t *testing.T) {
	long := strings.Repeat("<&>", 3000)
	r := sample.Hostile(long)
	for range 300 {
		r.Findings = append(r.Findings, r.Findings[0])
		r.Permitted = append(r.Permitted, r.Permitted[0])
		r.Passed = append(r.Passed, r.Passed[0])
	}
	for _, limit := range []int{0, 5000, 100_000} {
		text := written(t, r, Options{Passes: true, Limit: limit})
		most := limit
		if most == 0 {
			most = 1_000_000
		}
		if len(text) > most || limit == 0 && len(text) < 900_000 {
			t.Errorf("limit %d: %d bytes", limit, len(text))
		}
		all := blocks(t, text)
		shown := len(cells(t, all[0])) - 1
		if more := fmt.Sprintf("<p>%d more in the log</p>", len(r.Findings)-shown); !strings.Contains(all[0], more) {
			t.Errorf("limit %d: %d of %d shown and no %s", limit, shown, len(r.Findings), more)
		}
	}
	if strings.Contains(written(t, sample.Many(50), Options{}), "more in the log") {
		t.Error("a short report is cut")
	}
}

func TestHostileText(t *testing.T) {
	for _, s := range sample.HostileTexts() {
		text := written(t, sample.Hostile(s), Options{Passes: true})
		sample.Seen(t, s, []byte(text), nil)
		var shape []string
		for _, block := range blocks(t, text) {
			rows := cells(t, block)
			shape = append(shape, fmt.Sprintf("%d×%d", len(rows), len(rows[0])))
			// Text of files stands in code alone.
			outside := strings.NewReplacer("<br>try: ", "", "<br>number: ", "", "<pre>", "<code>", "</pre>", "</code>").Replace(block)
			for {
				before, rest, ok := strings.Cut(outside, "<code>")
				if strings.Contains(before, "forged") {
					t.Errorf("%q: outside code: %q", s, before)
				}
				if !ok {
					break
				}
				_, outside, _ = strings.Cut(rest, "</code>")
			}
		}
		if got := strings.Join(shape, " "); got != "3×4 2×4 2×4 2×4 2×3" {
			t.Errorf("%q: tables of %s", s, got)
		}
	}
}

func TestWriterFailing(t *testing.T) {
	fixtures.Fails(t, func(w io.Writer) error { return Write(w, sample.Ferry(), Options{Passes: true}) })
}
