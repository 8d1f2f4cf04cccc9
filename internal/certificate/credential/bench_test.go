package credential

import (
	"crypto/ed25519"
	"crypto/sha256"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkSign signs one certificate, and beside it the hash of the same bytes as they are: what putting the statements in order costs.
func BenchmarkSign(b *testing.B) {
	c, data := sample(), signed(b, sample())
	beside(b, func() {
		_, err := Sign(c, key, issued)
		require.NoError(b, err)
	}, func() {
		sum := sha256.Sum256(data)
		require.Len(b, ed25519.Sign(key, sum[:]), ed25519.SignatureSize)
	})
}

// BenchmarkRead reads one certificate, and beside it checks a signature over the hash of the same bytes as they are.
func BenchmarkRead(b *testing.B) {
	data, doc := signed(b, sample()), published(webID, multikey(key))
	sum := sha256.Sum256(data)
	signature := ed25519.Sign(key, sum[:])
	beside(b, func() {
		_, err := Read(data, doc)
		require.NoError(b, err)
	}, func() {
		sum := sha256.Sum256(data)
		require.True(b, ed25519.Verify(public(key), sum[:], signature))
	})
}

// beside runs the work and the reference by turns and reports both and their ratio.
func beside(b *testing.B, work, reference func()) {
	b.Helper()
	var took [2]time.Duration
	for b.Loop() {
		for i, run := range []func(){work, reference} {
			start := time.Now()
			run()
			took[i] += time.Since(start)
		}
	}
	per := func(d time.Duration) float64 { return float64(d.Microseconds()) / float64(b.N) }
	b.ReportMetric(per(took[0]), "us/file")
	b.ReportMetric(per(took[1]), "us/by-hand")
	b.ReportMetric(float64(took[0])/float64(took[1]), "times-by-hand")
}
