package bench

import (
	"archive/zip"
	"io"
	"strconv"

	"pinwright/pinmap/solid"
)

// The parts of a 3MF package beside the model (3MF Core Specification 1.4.0, chapter 2).
const (
	contentTypes = `<?xml version="1.0" encoding="UTF-8"?>` + "\n" +
		`<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">` +
		`<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>` +
		`<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>` + "\n"
	relationships = `<?xml version="1.0" encoding="UTF-8"?>` + "\n" +
		`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="model" ` +
		`Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" Target="/3D/3dmodel.model"/></Relationships>` + "\n"
)

// write3MF writes a 3MF package that holds one object, in millimetres. Each vertex stands in it once; triangles run counter-clockwise seen from outside.
func write3MF(w io.Writer, m *solid.Mesh, title string) error {
	z := newZip(w)
	part := func(name string, write func(p *pen)) error {
		f, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: saved})
		if err != nil {
			return err
		}
		p := newPen(f)
		write(p)
		return p.flush()
	}
	if err := part("[Content_Types].xml", func(p *pen) { p.raw(contentTypes) }); err != nil {
		return err
	}
	if err := part("_rels/.rels", func(p *pen) { p.raw(relationships) }); err != nil {
		return err
	}
	if err := part("3D/3dmodel.model", func(p *pen) { model3MF(p, m, title) }); err != nil {
		return err
	}
	return z.Close()
}

func model3MF(p *pen, m *solid.Mesh, title string) {
	p.raw(`<?xml version="1.0" encoding="UTF-8"?>` + "\n" + `<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">`)
	p.raw("\n" + `<metadata name="Title">`).text(title).raw("</metadata>\n" + `<metadata name="Application">Pinwright</metadata>`)
	p.raw("\n<resources>\n" + `<object id="1" type="model"><mesh>` + "\n<vertices>\n")
	var b []byte
	for _, v := range m.Vertices {
		b = b[:0]
		for i, name := range [3]string{`<vertex x="`, `" y="`, `" z="`} {
			b = strconv.AppendFloat(append(b, name...), float64(v[i]), 'f', -1, 32)
		}
		_, _ = p.w.Write(append(b, "\"/>\n"...)) // the bufio.Writer keeps the error for flush
	}
	p.raw("</vertices>\n<triangles>\n")
	for _, t := range m.Triangles {
		b = b[:0]
		for i, name := range [3]string{`<triangle v1="`, `" v2="`, `" v3="`} {
			b = strconv.AppendInt(append(b, name...), int64(t[i]), 10)
		}
		_, _ = p.w.Write(append(b, "\"/>\n"...))
	}
	p.raw("</triangles>\n</mesh></object>\n</resources>\n" + `<build><item objectid="1"/></build>` + "\n</model>\n")
}
