package page

import "busgauss/rules/audit"

// block returns the cells of the title block: what is given.
func block(c *audit.Cover) []fact {
	standard := c.Standard
	if standard == "" {
		standard = "none; default limits"
	}
	return given(fact{Name: "Customer", Value: c.Customer}, fact{Name: "Drawing", Value: c.Drawing}, fact{Name: "Author", Value: c.Author},
		fact{Name: "Reviewed by", Value: c.Reviewer}, fact{Name: "Date", Value: c.Date}, fact{Name: "Layout", Value: c.Path},
		fact{Name: "House standard", Value: standard})
}

// document returns what identifies the page to a machine.
func document(c *audit.Cover) []fact {
	return given(fact{Name: "Layout", Value: c.Path}, fact{Name: "Digest (SHA-256)", Value: c.Digest, Code: true},
		fact{Name: "Revision", Value: c.Revision}, fact{Name: "Made with", Value: c.Tool})
}

func given(list ...fact) []fact {
	var out []fact
	for _, f := range list {
		if f.Value != "" {
			out = append(out, f)
		}
	}
	return out
}

// history returns the history of the document; nil where none was given.
func history(c *audit.Cover) *table {
	t := tableOf("History of this document", []int{10, 16, 54, 20}, "Mark", "Date", "What", "By")
	for _, i := range c.History {
		t.add(orDash(i.Mark), orDash(i.Date), orDash(i.What), orDash(i.By))
	}
	return t.orNil()
}
