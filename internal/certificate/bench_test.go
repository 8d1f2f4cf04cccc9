package certificate

import (
	"archive/zip"
	"crypto/ed25519"
	"crypto/sha256"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// drafts are certificates to be signed, each of a person of its own.
func (o *office) drafts(n int) []groundhand.Certificate {
	o.Helper()
	out := make([]groundhand.Certificate, n)
	for i := range out {
		who := groundhand.WorkerID(fmt.Sprintf("w%04d", i))
		o.worker(who, fmt.Sprintf("Worker Number %d", i))
		out[i] = groundhand.Certificate{Recorded: o.told("2025-06-10"), WorkerID: who, PersonName: fmt.Sprintf("Worker Number %d", i), Employer: "A contractor (invented)",
			Method: groundhand.PairKit, Role: groundhand.Lead, FamilyID: "F1", EvidenceID: o.run(who, groundhand.Lead, "2025-05-10").ID, EvidenceKind: groundhand.PracticeRun,
			ShownOn: day("2025-05-10"), AssessorName: "Gideon Prewitt-Osei", LastGoodDay: day("2026-05-09"), RuleSetID: "R2"}
	}
	return out
}

// signed signs and writes drafts in one transaction.
func (o *office) signed(drafts []groundhand.Certificate) (made []groundhand.Certificate) {
	o.Helper()
	from := make([]time.Time, len(drafts))
	for i := range drafts {
		from[i] = o.store.Now().Time()
	}
	require.NoError(o, o.store.InTx(o.ctx, func(tx *store.Store) error {
		p, err := o.issuer.over(tx).pen(o.ctx)
		require.NoError(o, err)
		var left []groundhand.Certificate
		made, left, err = p.signAll(drafts, from)
		require.NoError(o, err)
		require.Empty(o, left)
		return store.Add(o.ctx, tx, made...)
	}))
	return made
}

// A thousand certificates signed and exported. The reference, written by hand, does the least that any program must for such a file: it signs and
// checks a thousand texts of the same length and puts as many bytes as the pages have into an archive.
func BenchmarkThousandSignedAndExported(b *testing.B) {
	const many = 1000
	var ours, least time.Duration
	for b.Loop() {
		b.StopTimer()
		o := newOffice(b)
		drafts := o.drafts(many)
		var size counted
		b.StartTimer()
		began := time.Now()
		made := o.signed(drafts)
		signing := time.Since(began)
		peak := memory()
		_, err := o.issuer.Export(o.ctx, hr, Filter{}, &size, nil)
		require.NoError(b, err)
		ours += time.Since(began)
		b.StopTimer()
		b.ReportMetric(signing.Seconds(), "s-signing")
		b.ReportMetric(float64(peak())/(1<<20), "MiB-more-at-peak")
		least += reference(b, made, int(size)/many)
		b.StartTimer()
	}
	b.ReportMetric(float64(ours)/float64(least), "times-reference")
}

type counted int

func (c *counted) Write(p []byte) (int, error) { *c += counted(len(p)); return len(p), nil }

func reference(b *testing.B, made []groundhand.Certificate, page int) time.Duration {
	b.Helper()
	public, private, err := ed25519.GenerateKey(nil)
	require.NoError(b, err)
	began := time.Now()
	archive := zip.NewWriter(io.Discard)
	for _, cert := range made {
		text := []byte(cert.Signed)
		require.True(b, ed25519.Verify(public, text, ed25519.Sign(private, text)))
		for name, content := range map[string][]byte{".json": text, ".pdf": make([]byte, page)} {
			sha256.Sum256(content)
			entry, err := archive.CreateHeader(&zip.FileHeader{Name: string(cert.ID) + name, Method: zip.Store})
			require.NoError(b, err)
			_, err = entry.Write(content)
			require.NoError(b, err)
		}
	}
	require.NoError(b, archive.Close())
	return time.Since(began)
}

// memory watches how much more of it is in use than now, until the answer is asked for.
func memory() (peak func() uint64) {
	runtime.GC()
	var at runtime.MemStats
	runtime.ReadMemStats(&at)
	before, most, stop, done := at.HeapInuse, uint64(0), make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for tick := time.NewTicker(20 * time.Millisecond); ; {
			select {
			case <-stop:
				tick.Stop()
				return
			case <-tick.C:
				var now runtime.MemStats
				runtime.ReadMemStats(&now)
				most = max(most, now.HeapInuse)
			}
		}
	}()
	return func() uint64 {
		close(stop)
		<-done
		return most - min(most, before)
	}
}

// What anybody may ask, of one certificate among a thousand. The reference finds the row and nothing else.
func BenchmarkLook(b *testing.B) {
	o := newOffice(b)
	made := o.signed(o.drafts(1000))
	var times, least []time.Duration
	i := 0
	for b.Loop() {
		id := made[i*7%len(made)].CredentialID
		i++
		began := time.Now()
		looked, err := o.issuer.Look(o.ctx, id)
		times = append(times, time.Since(began))
		require.NoError(b, err)
		require.Equal(b, Valid, looked.State)
		began = time.Now()
		found, err := store.Find[groundhand.Certificate](o.ctx, o.store, store.ByCredential, []string{id})
		least = append(least, time.Since(began))
		require.NoError(b, err)
		require.True(b, strings.HasPrefix(found[0].Signed, "{"))
	}
	b.ReportMetric(float64(median(times).Microseconds())/1000, "ms-median")
	b.ReportMetric(float64(median(times))/float64(median(least)), "times-reference")
}

func median(times []time.Duration) time.Duration {
	slices.Sort(times)
	return times[len(times)/2]
}
