package load

import (
	"slices"
	"strings"
	"testing"
)

func TestOutlines(t *testing.T) {
	for _, c := range []struct{ name, corners, want string }{
		{"bow tie", "[[0 mm, 0 mm], [9 mm, 0 mm], [0 mm, 9 mm], [9 mm, 9 mm]]",
			`4:69 outline-shape: edge 4 (corner 4 to 1) of outline of section of bar "V" meets edge 2 (corner 2 to 3). An outline must not cross or touch itself`},
		{"bow tie without net area", "[[0 mm, 0 mm], [9 mm, 9 mm], [9 mm, 0 mm], [0 mm, 9 mm]]",
			`4:55 outline-shape: edge 3 (corner 3 to 4) of outline of section of bar "V" meets edge 1 (corner 1 to 2). An outline must not cross or touch itself`},
		{"two corners", "[[0 mm, 0 mm], [9 mm, 0 mm]]",
			`4:26 outline-shape: outline of section of bar "V" has 2 corners: it needs three or more`},
		{"on a line", "[[0 mm, 0 mm], [9 mm, 3 mm], [3 mm, 1 mm]]",
			`4:26 outline-shape: outline of section of bar "V" has no area. Its corners lie on one line`},
		{"closed by hand", "[[0 mm, 0 mm], [9 mm, 0 mm], [0 mm, 9 mm], [0 mm, 0 mm]]",
			`4:69 outline-shape: the last corner of outline of section of bar "V" repeats the first. Leave it out`},
		{"repeated corner", "[[0 mm, 0 mm], [9 mm, 0 mm], [9 mm, 0 mm], [0 mm, 9 mm]]",
			`4:55 outline-shape: corner 3 of outline of section of bar "V" repeats corner 2`},
		{"touching", "[[0 mm, 0 mm], [9 mm, 0 mm], [9 mm, 9 mm], [4 mm, 0 mm], [0 mm, 9 mm]]",
			`4:55 outline-shape: edge 3 (corner 3 to 4) of outline of section of bar "V" meets edge 1 (corner 1 to 2). An outline must not cross or touch itself`},
		{"three numbers", "[[0 mm, 0 mm], [9 mm, 0 mm], [0 mm, 9 mm, 1 mm]]",
			`4:55 value-form: corner 3 of outline of section of bar "V" must be a point [x, y], not a list of 3`},
	} {
		t.Run(c.name, func(t *testing.T) {
			text := strings.Replace(base, "{diameter: 8 mm}", "{outline: "+c.corners+"}", 1)
			l, problems := Load("bad.yaml", []byte(text))
			got := lines(problems)
			if l != nil || !slices.Equal(got, []string{c.want}) {
				t.Errorf("layout %v\ngot  %s\nwant %s", l != nil, strings.Join(got, "\n     "), c.want)
			}
			if strings.Contains(c.want, "meets") && len(problems) == 1 && len(problems[0].Related) != 1 {
				t.Error("the other edge is not related")
			}
		})
	}
}

func TestTooManyCorners(t *testing.T) {
	corners := strings.Repeat("[0 mm, 1 mm], ", mostCorners) + "[1 mm, 0 mm]"
	_, problems := Load("bad.yaml", []byte(strings.Replace(base, "{diameter: 8 mm}", "{outline: ["+corners+"]}", 1)))
	if len(problems) != 1 || problems[0].Rule != ruleOutline || !strings.Contains(problems[0].Message, "2001 corners: 2000 at most") {
		t.Errorf("got %v", lines(problems))
	}
}
