package bench

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"fmt"
	"hash"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/klauspost/compress/flate"
)

// zipName is the file that holds all others.
const zipName = "bench.zip"

// saved is the time that a zip gives its files, the first that the format knows: the same project gives the same bytes.
var saved = time.Date(1980, 1, 1, 0, 0, 0, 0, time.UTC)

// ahead is the file that takes longest with many pins; it is made beside the others, and comes after them. The meshes, which take as much memory, come
// after it.
const ahead = "drill-map.pdf"

var meshes = []string{"cylinder.stl", "cylinder.3mf"}

// benchZip writes all files that the job gives, and README.txt, which says what each is and has its SHA-256 sum in the form that sha256sum checks.
func benchZip(w io.Writer, j Job) error {
	z := newZip(w)
	made := make(chan early, 1)
	go func() { made <- makeEarly(ahead, j) }()
	var list, sums strings.Builder
	order := slices.DeleteFunc(Names(), func(name string) bool { return name == zipName || name == ahead || slices.Contains(meshes, name) })
	for _, name := range slices.Concat(order, []string{ahead}, meshes) {
		if !j.gives(name) {
			continue
		}
		m, _ := File(name)
		write := func(w io.Writer) error { return m.Write(w, j) }
		if name == ahead {
			write = (<-made).write
		}
		sum := sha256.New()
		if err := addTo(z, name, sum, write); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		fmt.Fprintf(&list, "  %-18s %s\n", name, About(name))
		fmt.Fprintf(&sums, "%x  %s\n", sum.Sum(nil), name)
	}
	err := addTo(z, "README.txt", sha256.New(), func(w io.Writer) error {
		_, err := fmt.Fprintf(w, "%s\n%s\nRevision %d. Lengths are in mm, angles in degrees, times in ms.\n\n%s\nCautions\n\n%s\nSHA-256; check with: sha256sum -c README.txt\n\n%s",
			printable(j.Result.Title), strings.Repeat("=", len([]rune(printable(j.Result.Title)))), j.Revision, list.String(), "  "+strings.Join(cautions[:], "\n  ")+"\n", sums.String())
		return err
	})
	if err != nil {
		return err
	}
	return z.Close()
}

// early is a file that was made before its turn.
type early struct {
	data []byte
	err  error
}

func (e early) write(w io.Writer) error {
	if e.err != nil {
		return e.err
	}
	_, err := w.Write(e.data)
	return err
}

func makeEarly(name string, j Job) (e early) {
	defer func() {
		if fault := recover(); fault != nil { // nobody above it would catch it
			e.err = fmt.Errorf("%v", fault)
		}
	}()
	if !j.gives(name) {
		return early{}
	}
	var b bytes.Buffer
	m, _ := File(name)
	err := m.Write(&b, j)
	return early{b.Bytes(), err}
}

// newZip starts a zip whose files are packed quickly.
func newZip(w io.Writer) *zip.Writer {
	z := zip.NewWriter(w)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	return z
}

// gives reports whether the job gives the file of that name.
func (j Job) gives(name string) bool { return j.Files == nil || slices.Contains(j.Files, name) }

// addTo adds a file to a zip and to its sum. Sound and what is packed already are only stored.
func addTo(z *zip.Writer, name string, sum hash.Hash, write func(io.Writer) error) error {
	head := &zip.FileHeader{Name: name, Method: zip.Deflate, Modified: saved}
	for _, ending := range []string{".wav", ".3mf", ".pdf"} {
		if strings.HasSuffix(name, ending) {
			head.Method = zip.Store
		}
	}
	file, err := z.CreateHeader(head)
	if err != nil {
		return err
	}
	return write(io.MultiWriter(file, sum))
}
