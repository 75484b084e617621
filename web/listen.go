package web

import "slices"

// audition gives the file that holds the sound of one turn; it reports whether there is one.
func audition(files []File) (File, bool) {
	i := slices.IndexFunc(files, func(f File) bool { return f.Name == "audition.wav" })
	if i < 0 {
		return File{}, false
	}
	return files[i], true
}
