package certificate

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/certificate/paper"
	"groundhand/internal/groundhand"
)

func TestRelianceIsThatOfTheMomentAskedAbout(t *testing.T) {
	o := newOffice(t)
	o.run("lukasz", groundhand.Lead, "2025-03-01")
	pass := o.assess("lukasz", groundhand.Pass, "2025-03-03")
	before := o.store.Now()
	o.clock.Set("2025-06-12T09:00:00+01:00")
	cert := o.issue(pass.ID, "")
	issued := o.store.Now()
	o.clock.Set("2025-06-13T09:00:00+01:00")
	o.withdraw(pass.ID)

	at := func(moment groundhand.Instant) map[groundhand.CertificateID]string {
		got, err := o.issuer.Reliance(o.ctx, []groundhand.CertificateID{cert.ID}, moment)
		require.NoError(t, err)
		return got
	}
	assert.Empty(t, at(before), "not given out yet")
	assert.Equal(t, paper.Good, at(issued)[cert.ID])
	assert.Contains(t, at(0)[cert.ID], "withdrawn or replaced")
}
