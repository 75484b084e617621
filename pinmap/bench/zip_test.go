package bench

import (
	"archive/zip"
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// unzipped gives the files of a zip, in their order, with their bytes.
func unzipped(t *testing.T, data []byte) (names []string, files map[string][]byte) {
	t.Helper()
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	files = map[string][]byte{}
	for _, f := range r.File {
		in, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if files[f.Name], err = io.ReadAll(in); err != nil {
			t.Fatal(err)
		}
		names = append(names, f.Name)
	}
	return names, files
}

func TestZipHoldsEveryFile(t *testing.T) {
	j := demoJob(t)
	j.Result.Title = "a\r\nb ../c"
	data := made(t, zipName, j)
	if !bytes.Equal(data, made(t, zipName, j)) {
		t.Error("the same project gives other bytes")
	}
	names, files := unzipped(t, data)
	want := slices.DeleteFunc(Names(), func(name string) bool { return name == ahead || name == zipName || slices.Contains(meshes, name) })
	want = append(append(append(want, ahead), meshes...), "README.txt")
	if strings.Join(names, " ") != strings.Join(want, " ") {
		t.Errorf("it holds %v; want %v", names, want)
	}
	readme := string(files["README.txt"])
	for _, name := range want[:len(want)-1] {
		if !bytes.Equal(files[name], made(t, name, j)) {
			t.Errorf("its %s is not the one that is made alone", name)
		}
		if About(name) == "" || !strings.Contains(readme, name+strings.Repeat(" ", max(0, 18-len(name)))+" "+About(name)) {
			t.Errorf("README.txt does not say what %s is", name)
		}
	}
	for _, caution := range cautions {
		if !strings.Contains(readme, caution) {
			t.Errorf("README.txt leaves out %q", caution)
		}
	}

	j.Files = []string{"holes.csv", zipName}
	if names, _ := unzipped(t, made(t, zipName, j)); strings.Join(names, " ") != "holes.csv README.txt" {
		t.Errorf("where only holes.csv is given it holds %v", names)
	}
}

// TestZipIsReadByOthers unpacks, of the demo and ten real tunes, with python's zipfile and checks the sums with sha256sum, as README.txt says.
func TestZipIsReadByOthers(t *testing.T) {
	judged(t, "bench.zip", "/usr/bin/python3", "sha256sum")
	for name, j := range realJobs(t) {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			path := filepath.Join(dir, zipName)
			if err := os.WriteFile(path, made(t, zipName, j), 0o600); err != nil {
				t.Fatal(err)
			}
			for _, command := range [][]string{{"/usr/bin/python3", "-m", "zipfile", "-t", path}, {"/usr/bin/python3", "-m", "zipfile", "-e", path, dir}, {"sha256sum", "--check", "README.txt"}} {
				c := exec.Command(command[0], command[1:]...)
				c.Dir = dir
				out, err := c.CombinedOutput()
				if err != nil {
					t.Fatalf("%v: %v\n%s", command, err, out)
				}
				if command[0] == "sha256sum" && strings.Count(string(out), ": OK") != len(Names())-1 {
					t.Errorf("sha256sum says\n%s", out)
				}
			}
		})
	}
}
