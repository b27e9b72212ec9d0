package figure

import "strings"

// seriesLight and seriesDark are the colours of lines in charts, on paper and on
// a dark screen, at a contrast of at least 3 to 1 to the ground. They only
// help: dash and marker tell the lines apart.
var (
	seriesLight = [...]string{"#0a5fa8", "#a84a00", "#00745a", "#8a3f86", "#5c5c00", "#4a4a4a"}
	seriesDark  = [...]string{"#7db8f0", "#f0a060", "#5fd0b0", "#dd9ad8", "#d0cc60", "#c8c8c8"}
)

const (
	lightInk, lightPaper, lightMuted = "#1a1a1a", "#ffffff", "#595959"
	darkInk, darkPaper, darkMuted    = "#ececec", "#16181c", "#b4b4b4"
)

// Style returns the style sheet that all figures of a page share, the text of
// one style element. It is light, and dark where the reader's screen asks for
// it; print stays light. A page that sets the custom properties --ink, --paper
// and --muted gives the figures its own; one that lets the reader choose puts
// data-theme="light" or "dark" on its root element.
func Style() string {
	var b strings.Builder
	light, dark := variables(lightStops, seriesLight, lightInk, lightPaper, lightMuted), variables(darkStops, seriesDark, darkInk, darkPaper, darkMuted)
	b.WriteString(".fg{" + light + "}\n")
	b.WriteString("@media screen and (prefers-color-scheme:dark){:root:not([data-theme=light]) .fg{" + dark + "}}\n")
	b.WriteString("@media screen{[data-theme=dark] .fg{" + dark + "}}\n")
	b.WriteString(rules)
	for i := range shades {
		n := num(float64(i))
		b.WriteString(".fg .fg-q" + n + "{fill:var(--fg-q" + n + ")}\n")
	}
	for i := range seriesLight {
		n := num(float64(i))
		b.WriteString(".fg .fg-s" + n + "{--fg-s:var(--fg-s" + n + ")}\n")
	}
	return b.String()
}

func variables(stops [4]lab, series [6]string, ink, paper, muted string) string {
	var b strings.Builder
	b.WriteString("--fg-ink:var(--ink," + ink + ");--fg-paper:var(--paper," + paper + ");--fg-muted:var(--muted," + muted + ");")
	for i := range shades {
		b.WriteString("--fg-q" + num(float64(i)) + ":" + hex(shade(stops, i)) + ";")
	}
	for i, s := range series {
		b.WriteString("--fg-s" + num(float64(i)) + ":" + s + ";")
	}
	return b.String()
}

// rules holds what does not depend on light and dark. Text has a rim of paper so
// that it can be read on shading and on lines. Colours are kept in print: the
// legend would lie without them.
const rules = `.fg{display:block;width:100%;height:auto;color:var(--fg-ink);font:13px/1.2 system-ui,"Liberation Sans","DejaVu Sans",sans-serif;print-color-adjust:exact;-webkit-print-color-adjust:exact;break-inside:avoid}
.fg text{fill:var(--fg-ink);stroke:var(--fg-paper);stroke-width:3px;stroke-linejoin:round;paint-order:stroke;font-size:13px}
.fg .fg-bold{font-weight:600}
.fg .fg-muted{fill:var(--fg-muted)}
.fg .fg-frame{fill:none;pointer-events:all;stroke:var(--fg-muted);stroke-width:.8}
.fg .fg-bar{fill:none;stroke:var(--fg-ink);stroke-width:1.8;fill-rule:evenodd}
.fg .fg-metal{fill:var(--fg-muted);fill-opacity:.22}
.fg .fg-shield{stroke:var(--fg-ink);stroke-width:1.1;fill-rule:evenodd}
.fg .fg-hidden{fill:none;stroke:var(--fg-ink);stroke-width:1;stroke-dasharray:5 3}
.fg .fg-hatch{stroke:var(--fg-ink);stroke-width:1.1}
.fg .fg-flux{fill:none;stroke:var(--fg-ink);stroke-width:.7;stroke-opacity:.8}
.fg .fg-rim{stroke:var(--fg-paper);stroke-width:5}
.fg .fg-axis{stroke:var(--fg-ink);stroke-width:2}
.fg .fg-dot,.fg .fg-head path{fill:var(--fg-ink)}
.fg .fg-seat{fill:var(--fg-paper);stroke:var(--fg-ink);stroke-width:1.4}
.fg .fg-tolerance{fill:none;stroke:var(--fg-ink);stroke-width:1;stroke-dasharray:3 2}
.fg .fg-leader,.fg .fg-extension{stroke:var(--fg-muted);stroke-width:.8}
.fg .fg-dimension{fill:none;stroke:var(--fg-ink);stroke-width:.9}
.fg .fg-cut{stroke:var(--fg-ink);stroke-width:1;stroke-dasharray:14 3 3 3}
.fg .fg-scale{fill:none;stroke:var(--fg-ink);stroke-width:2}
.fg .fg-edge{stroke:var(--fg-muted);stroke-width:.6}
.fg .fg-grid{stroke:var(--fg-muted);stroke-width:.5;stroke-opacity:.45}
.fg .fg-mark{stroke:var(--fg-ink);stroke-width:1;stroke-dasharray:8 3 2 3}
.fg .fg-strip{fill:var(--fg-muted);fill-opacity:.16}
.fg .fg-line{fill:none;stroke:var(--fg-s);stroke-width:1.8;stroke-linejoin:round}
.fg .fg-point{stroke:var(--fg-s);stroke-width:1.4;fill:var(--fg-paper)}
.fg .fg-rank{fill:var(--fg-q7);stroke:var(--fg-ink);stroke-width:1}
.fg .fg-total{stroke:var(--fg-ink);stroke-width:1}
`
