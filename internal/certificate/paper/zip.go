package paper

import (
	"archive/zip"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"runtime"
	"slices"
	"sync"

	"groundhand/internal/groundhand"
)

// Zip streams a bundle as a ZIP file: README.txt, the issuer's keys, the lists of withdrawn certificates and further files, then a page and
// a signed file for each certificate by number, and at the end manifest.csv, which holds their digests. The same bundle, its rows in
// whatever order, gives the same bytes. Pages are drawn on all cores, a few ahead of what is written, so that the memory needed does not
// grow with the number of certificates.
//
// It is all or nothing: everything is checked before the first byte, and all problems come at once under "rows[2].sheet.person", counted in
// the order given. A number used twice is a CONFLICT, more than MaxBatch certificates are TOO_LARGE. Only w itself can fail later.
//
// Progress, if given, is called after each certificate by the goroutine that called Zip.
func Zip(w io.Writer, b Bundle, progress func(done, all int)) error {
	if err := b.check(); err != nil {
		return err
	}
	if progress == nil {
		progress = func(int, int) {}
	}
	b.Rows = slices.SortedFunc(slices.Values(b.Rows), func(a, b Row) int { return cmp.Compare(a.Sheet.Number, b.Sheet.Number) })
	a := archive{zip.NewWriter(w), b.Day, b.Folder}
	if err := a.addFront(b); err != nil {
		return err
	}
	rows, err := a.addCertificates(b.Rows, progress)
	if err != nil {
		return err
	}
	list, err := manifest(rows)
	if err != nil {
		return err
	}
	if err := a.add(manifestName, zip.Deflate, list); err != nil {
		return err
	}
	return a.zip.Close()
}

// archive is a ZIP file whose entries all have one day, and all but the further files one folder.
type archive struct {
	zip    *zip.Writer
	day    groundhand.Date
	folder string
}

// Days that the date of a ZIP entry can hold.
var firstZipDay, lastZipDay = groundhand.MustDate("1980-01-01"), groundhand.MustDate("2099-12-31")

func (a archive) add(name string, method uint16, data []byte) error {
	return a.addAt(a.folder+name, method, data)
}

func (a archive) addAt(name string, method uint16, data []byte) error {
	day := min(max(a.day, firstZipDay), lastZipDay)
	entry, err := a.zip.CreateHeader(&zip.FileHeader{Name: name, Method: method, Modified: midnight(day)})
	if err == nil {
		_, err = entry.Write(data)
	}
	if err != nil {
		return fmt.Errorf("add %s: %w", name, err)
	}
	return nil
}

// addFront writes what does not depend on the pages.
func (a archive) addFront(b Bundle) error {
	files := []File{{readmeName, []byte(b.Readme)}, {documentName, b.Document}}
	byName := func(x, y File) int { return cmp.Or(cmp.Compare(len(x.Name), len(y.Name)), cmp.Compare(x.Name, y.Name)) } // 2 before 10
	for _, l := range slices.SortedFunc(slices.Values(b.StatusLists), byName) {
		files = append(files, File{statusFolder + l.Name, l.Data})
	}
	for _, f := range files {
		if err := a.add(f.Name, zip.Deflate, f.Data); err != nil {
			return err
		}
	}
	for _, f := range slices.SortedFunc(slices.Values(b.Extra), func(x, y File) int { return cmp.Compare(x.Name, y.Name) }) {
		if err := a.addAt(f.Name, zip.Deflate, f.Data); err != nil {
			return err
		}
	}
	return nil
}

// addCertificates writes page and signed file of each row and gives the rows of the list. A page is stored as it is, for a PDF is
// already compressed.
func (a archive) addCertificates(rows []Row, progress func(done, all int)) ([][]string, error) {
	list := make([][]string, 0, len(rows))
	err := inOrder(rows, draw, func(i int, d drawn) error {
		s := rows[i].Sheet
		if d.err != nil {
			return d.err
		}
		if err := a.add(pagesFolder+s.Number+pageEnding, zip.Store, d.pdf); err != nil {
			return err
		}
		if err := a.add(signedFolder+signedName(s), zip.Deflate, s.Signed); err != nil {
			return err
		}
		list = append(list, manifestRow(rows[i], d.pdf))
		progress(i+1, len(rows))
		return nil
	})
	return list, err
}

type drawn struct {
	pdf []byte
	err error
}

func draw(r Row) drawn {
	var pdf bytes.Buffer
	err := Write(&pdf, r.Sheet)
	return drawn{pdf.Bytes(), err}
}

// checkAll checks every sheet, on all cores.
func checkAll(rows []Row) []error {
	found := make([]error, len(rows))
	_ = inOrder(rows, func(r Row) error { return Check(r.Sheet) }, func(i int, err error) error {
		found[i] = err
		return nil
	})
	return found
}

// inOrder does the work for each row on all cores and hands over the results in the order of the rows, in the goroutine of the caller. It
// is at most two results a core ahead. It stops at the first error of take, and leaves no goroutine behind.
func inOrder[T any](rows []Row, work func(Row) T, take func(int, T) error) error {
	ahead := 2 * runtime.GOMAXPROCS(0)
	waiting := make(chan chan T, ahead)
	slots := make(chan struct{}, ahead)
	stop := make(chan struct{})
	var busy sync.WaitGroup
	busy.Go(func() {
		defer close(waiting)
		for _, r := range rows {
			select {
			case slots <- struct{}{}:
			case <-stop:
				return
			}
			result := make(chan T, 1)
			waiting <- result
			busy.Go(func() { result <- work(r) })
		}
	})
	defer busy.Wait()
	defer close(stop)
	i := 0
	for result := range waiting {
		if err := take(i, <-result); err != nil {
			return err
		}
		<-slots
		i++
	}
	return nil
}
