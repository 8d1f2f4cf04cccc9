package paper_test

import (
	"archive/zip"
	"bytes"
	"fmt"
	"io"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/paper"
)

// BenchmarkZipOfAThousand makes an export of 1,000 certificates and, in the same run, a plain ZIP file of the very same bytes. It prints the
// seconds for one export, how many times as long as the plain file that is, and the most memory that the program held from the system.
func BenchmarkZipOfAThousand(b *testing.B) {
	whole := bundle(1000)
	var spent, plainly time.Duration
	var peak uint64
	for b.Loop() {
		begin := time.Now()
		require.NoError(b, paper.Zip(io.Discard, whole, func(done, _ int) {
			if done%50 == 0 {
				peak = max(peak, held())
			}
		}))
		spent += time.Since(begin)
	}
	var out bytes.Buffer
	require.NoError(b, paper.Zip(&out, whole, nil))
	r, err := zip.NewReader(bytes.NewReader(out.Bytes()), int64(out.Len()))
	require.NoError(b, err)
	contents := make([][]byte, len(r.File))
	for i, f := range r.File {
		rc, err := f.Open()
		require.NoError(b, err)
		contents[i], err = io.ReadAll(rc)
		require.NoError(b, err)
	}
	begin := time.Now()
	plain := zip.NewWriter(io.Discard)
	for i, f := range r.File {
		entry, err := plain.CreateHeader(&zip.FileHeader{Name: f.Name, Method: f.Method})
		require.NoError(b, err)
		_, err = entry.Write(contents[i])
		require.NoError(b, err)
	}
	require.NoError(b, plain.Close())
	plainly = time.Since(begin)
	b.ReportMetric(spent.Seconds()/float64(b.N), "s/export")
	b.ReportMetric(spent.Seconds()/float64(b.N)/plainly.Seconds(), "times-a-plain-zip")
	b.ReportMetric(float64(peak)/1e6, "MB-held")
	b.ReportMetric(float64(out.Len())/1e6, "MB-file")
}

// held is the memory that the program has from the system and has not given back.
func held() uint64 {
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.Sys - m.HeapReleased
}

func BenchmarkCheck(b *testing.B) {
	s := paper.Sample()
	for b.Loop() {
		require.NoError(b, paper.Check(s))
	}
}

func BenchmarkAttached(b *testing.B) {
	page := printed(b, paper.Sample())
	b.SetBytes(int64(len(page)))
	for b.Loop() {
		_, err := paper.Attached(page)
		require.NoError(b, err)
	}
}

func ExampleZip() {
	err := paper.Zip(io.Discard, bundle(2), func(done, all int) { fmt.Println(done, "of", all) })
	fmt.Println(err)
	// Output:
	// 1 of 2
	// 2 of 2
	// <nil>
}
