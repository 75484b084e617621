package bench

import "html"

// writeTables writes the tables as the last section of the page.
func writeTables(p *pen, title string, parts []part) {
	p.raw("<section class=\"list\">\n<h1>").text(title).raw(": tables to the drill map</h1>\n")
	for _, part := range parts {
		if part.heading != "" {
			p.raw("<h2")
			if part.apart {
				p.raw(` class="page"`)
			}
			p.raw(">").text(part.heading).raw("</h2>\n")
		}
		if part.text != "" {
			p.raw("<p")
			if part.mark != "" {
				p.raw(` class="`).raw(part.mark).raw(`"`)
			}
			p.raw(">").text(part.text).raw("</p>\n")
		}
		if len(part.list) > 0 {
			p.raw("<ul>")
			for _, s := range part.list {
				p.raw("<li>").text(s).raw("</li>\n")
			}
			p.raw("</ul>\n")
		}
		if part.table != nil {
			writeTable(p, part.table)
		}
	}
	p.raw("</section>\n")
}

func writeTable(p *pen, t *grid) {
	p.raw("<table")
	if t.whole {
		p.raw(` class="whole"`)
	}
	p.raw(">\n")
	if t.caption != "" {
		p.raw("<caption>").text(t.caption).raw("</caption>\n")
	}
	p.raw("<thead><tr>")
	for _, c := range t.columns {
		if c.left {
			p.raw(`<th class="t">`)
		} else {
			p.raw("<th>")
		}
		p.text(c.head).raw("</th>")
	}
	p.raw("</tr></thead>\n<tbody>\n")
	t.rows(func(row *cells) {
		if row.apart {
			p.raw(`<tr class="new">`)
		} else {
			p.raw("<tr>")
		}
		for i, c := range t.columns {
			if c.left {
				p.raw(`<td class="t">`)
			} else {
				p.raw("<td>")
			}
			if c.box {
				p.raw("<i></i>")
			} else {
				p.cell(row.at(i))
			}
			p.raw("</td>")
		}
		p.raw("</tr>\n")
	})
	p.raw("</tbody>\n</table>\n")
}

// cell writes words as text does, figures the short way.
func (p *pen) cell(words []byte) {
	for _, b := range words {
		if (b < '0' || b > '9') && b != '.' {
			p.raw(html.EscapeString(printable(string(words))))
			return
		}
	}
	_, _ = p.w.Write(words) // the bufio.Writer keeps the error for flush
}
