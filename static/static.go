// Package static holds the style sheet, scripts and icons, embedded, each under an address that carries a checksum of
// all of them, so that a browser may keep them for ever.
package static

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"
)

//go:embed *.css *.js *.svg
var files embed.FS

// Prefix is where Handler is mounted.
const Prefix = "/static/"

// mediaTypes are those of the files here; the system's own table is not asked, for it differs between machines.
var mediaTypes = map[string]string{
	".css": "text/css; charset=utf-8",
	".js":  "text/javascript; charset=utf-8",
	".svg": "image/svg+xml",
}

// checksum covers every file, since scripts import each other by relative address.
var checksum = sum()

func sum() string {
	h := sha256.New()
	names, err := fs.Glob(files, "*")
	if err != nil {
		panic("static: " + err.Error())
	}
	for _, name := range names {
		data, err := files.ReadFile(name)
		if err != nil {
			panic("static: " + err.Error())
		}
		h.Write([]byte(name))
		h.Write(data)
	}
	return base64.RawURLEncoding.EncodeToString(h.Sum(nil)[:9])
}

// Path gives the address of a file, "/static/<checksum>/app.css" for "app.css". It panics where there is no such file.
func Path(name string) string {
	if _, err := fs.Stat(files, name); err != nil {
		panic("static: " + err.Error())
	}
	return Prefix + checksum + "/" + name
}

// Keeper gives the script that keeps a page for when there is no connection, which is not served with the others.
func Keeper() []byte {
	data, err := files.ReadFile("keeper.js")
	if err != nil {
		panic("static: " + err.Error())
	}
	return data
}

// Handler serves the addresses that Path gives. An address with another checksum is not found: what a browser keeps
// for ever must be what the address says.
func Handler() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name, ok := strings.CutPrefix(r.URL.Path, Prefix+checksum+"/")
		if !ok {
			http.NotFound(w, r)
			return
		}
		data, err := files.ReadFile(name)
		if err != nil {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", mediaTypes[path.Ext(name)])
		w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
	})
}
