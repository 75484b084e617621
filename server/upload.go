package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"path"
	"strings"
	"unicode"

	"pinwright/arrange/tune"
	"pinwright/pinmap/project"
)

// upload is what a multipart body brings.
type upload struct {
	fileName string
	tune     []byte
	setup    []byte        // JSON; nil where none came
	blank    bool          // the tune was made here, without notes, as the field blank asked for
	project  *project.File // that came in place of a tune; it has a setup and decisions of its own
}

// maxBlank is the most that the field blank may take.
const maxBlank = 4 << 10

// maxSetup is the most that a setup or a decision may take; a full setup is about 2 KiB, and a project that is put beside a tune comes in it whole.
const maxSetup = 512 << 10

// uploadLimit is the most that an upload's body may take: the tune, in a project file perhaps, a setup, and the lines between them.
func uploadLimit(limits tune.Limits) int64 { return int64(projectLimit(limits)) + maxSetup }

// projectLimit is the most that a project file may take: the tune in base64, and the decisions, some of which bring whole projects.
func projectLimit(limits tune.Limits) int { return limits.Bytes/3*4 + 4<<20 }

// isProject reports whether a file is a project rather than a tune: JSON starts with a brace, no tune does.
func isProject(file []byte) bool {
	return bytes.HasPrefix(bytes.TrimLeft(bytes.TrimPrefix(file, []byte("\uFEFF")), " \t\r\n"), []byte("{"))
}

// readProject reads a project file in place of the tune.
func (u *upload) readProject() error {
	if u.setup != nil {
		return &fault{kind: unusable, title: "The form holds a project file and a setup", detail: "A project file has its own setup: leave the field setup out."}
	}
	file, err := project.Decode(bytes.TrimPrefix(u.tune, []byte("\uFEFF")))
	if err != nil {
		return err
	}
	u.project, u.tune, u.fileName = &file, file.Tune, cleanName(file.FileName)
	return nil
}

// readUpload reads the parts `tune`, which may be a project file, or `blank` in its place, and, where there is one, `setup`, each into no more memory than its limit allows.
func readUpload(r *http.Request, limits tune.Limits) (upload, error) {
	u, _, err := readTunes(r, limits, 1)
	if err == nil && isProject(u.tune) {
		err = u.readProject()
	}
	return u, err
}

// readTunes reads one setup and up to most tunes: the first with the setup, then the others.
func readTunes(r *http.Request, limits tune.Limits, most int) (u upload, others []upload, err error) {
	if mediaType, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || mediaType != "multipart/form-data" {
		return upload{}, nil, &fault{kind: wrongType, title: "The body is not a multipart form", cause: err,
			detail: "Send multipart/form-data with the file in the field tune and, if wanted, JSON in the field setup."}
	}
	parts, err := r.MultipartReader()
	if err != nil {
		return upload{}, nil, brokenForm(err)
	}
	var blank []byte // JSON
	for {
		part, err := parts.NextRawPart()
		if err == io.EOF {
			break
		}
		if err != nil {
			return upload{}, nil, brokenForm(err)
		}
		field := part.FormName()
		switch {
		case field == "tune" && (u.tune == nil || 1+len(others) < most):
			next := upload{fileName: cleanName(part.FileName())}
			next.tune, err = readPart(part, r.ContentLength, projectLimit(limits))
			if errors.Is(err, errTooLong) || err == nil && len(next.tune) > limits.Bytes && !isProject(next.tune) {
				return upload{}, nil, &fault{kind: tooLarge, title: "The tune is too large",
					detail: fmt.Sprintf("This server takes files up to %s. A tune for one cylinder is seldom above 100 KiB: check that this is the file that was meant.", amountOfBytes(int64(limits.Bytes)))}
			}
			if u.tune == nil {
				u.fileName, u.tune = next.fileName, next.tune
			} else {
				others = append(others, next)
			}
		case field == "setup" && u.setup == nil:
			u.setup, err = readPart(part, r.ContentLength, maxSetup)
			if errors.Is(err, errTooLong) {
				return upload{}, nil, &fault{kind: tooLarge, title: "The setup is too large",
					detail: fmt.Sprintf("A setup takes at most %s of JSON.", amountOfBytes(maxSetup))}
			}
		case field == "blank" && blank == nil:
			blank, err = readPart(part, r.ContentLength, maxBlank)
			if errors.Is(err, errTooLong) {
				return upload{}, nil, &fault{kind: tooLarge, title: "The blank is too large",
					detail: fmt.Sprintf("It takes at most %s of JSON.", amountOfBytes(maxBlank))}
			}
		case field == "tune" && most > 1:
			return upload{}, nil, &fault{kind: unusable, title: "There are too many tunes", detail: fmt.Sprintf("Send up to %d at a time.", most)}
		case field == "tune", field == "setup", field == "blank":
			return upload{}, nil, &fault{kind: unusable, title: "The form holds the field " + field + " twice", detail: "Send it once."}
		default:
			return upload{}, nil, &fault{kind: unusable, title: "The form holds a field that is not known here",
				detail: fmt.Sprintf("The fields are tune and setup, or blank in place of the tune; %q is none of them.", shorten(field, 40))}
		}
		if err != nil {
			return upload{}, nil, brokenForm(err)
		}
	}
	if blank != nil {
		if u.tune != nil {
			return upload{}, nil, &fault{kind: unusable, title: "The form holds a tune and a blank", detail: "Send the tune, or leave it out to start from nothing."}
		}
		asked, err := project.ParseBlank(blank)
		if err != nil {
			return upload{}, nil, err
		}
		u.tune, u.blank = asked.File(), true
	}
	if len(u.tune) == 0 {
		return upload{}, nil, &fault{kind: unusable, title: "The tune is missing",
			detail: "Choose a Standard MIDI File (.mid) or a project file (project.json) and send it in the field tune; that field is missing or empty. To start from nothing, send the field blank."}
	}
	return u, others, nil
}

// brokenForm is the fault of a form that could not be read to its end, unless it was its length that was the fault.
func brokenForm(err error) error {
	var long *http.MaxBytesError
	if errors.As(err, &long) {
		return err
	}
	return &fault{kind: unreadable, title: "The form cannot be read", cause: err,
		detail: "Its parts break off or have no boundary. Send it again; leave the boundary to the program that sends it."}
}

var errTooLong = errors.New("longer than its limit")

// mostAhead bounds the memory that is set aside on the word of a header alone.
const mostAhead = 1 << 20

// readPart reads a part of at most limit bytes. The length of the whole body, where it is known, sizes the memory.
func readPart(part io.Reader, bodyLength int64, limit int) ([]byte, error) {
	var data bytes.Buffer
	if bodyLength > 0 {
		data.Grow(int(min(bodyLength, int64(limit), mostAhead)) + bytes.MinRead)
	}
	n, err := data.ReadFrom(io.LimitReader(part, int64(limit)+1))
	if err != nil {
		return nil, err
	}
	if n > int64(limit) {
		return nil, errTooLong
	}
	return data.Bytes(), nil
}

// cleanName keeps of a file's name what can be shown: its last element, without control characters, 120 characters long.
func cleanName(name string) string {
	name = path.Base(strings.ReplaceAll(strings.ToValidUTF8(name, "�"), `\`, "/"))
	name = strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, name)
	if name == "." || name == "/" {
		return ""
	}
	return shorten(name, 120)
}

// shorten cuts a text to at most n characters.
func shorten(text string, n int) string {
	if runes := []rune(text); len(runes) > n {
		return string(runes[:n-1]) + "…"
	}
	return text
}
