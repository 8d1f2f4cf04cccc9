package certificate

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"groundhand/internal/groundhand"
	"groundhand/internal/store"
)

// Whatever is issued, refused, replaced, withdrawn and corrected in whatever order: numbers have no gaps, every place is set that belongs to what
// was withdrawn or replaced and no other, no place is given twice, and what is ended never comes back.
func TestAnyHistory(t *testing.T) {
	for seed := range uint64(20) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) { newOffice(t).history(rand.New(rand.NewPCG(seed, 7))) })
	}
}

func (o *office) history(r *rand.Rand) {
	evidence := []groundhand.RunPart{o.run("lukasz", groundhand.Lead, "2025-04-10"), o.run("serban", groundhand.Lead, "2025-05-10")}
	o.issue(evidence[0].ID, "")
	ended := map[groundhand.CertificateID]State{}
	for step := range 10 {
		o.clock.Advance(minute)
		certs, err := store.All[groundhand.Certificate](o.ctx, o.store)
		require.NoError(o, err)
		part, number, key := &evidence[r.IntN(2)], certs[r.IntN(len(certs))].ID, fmt.Sprint("step ", step)
		switch r.IntN(6) {
		case 0:
			_, err = o.issuer.Issue(o.ctx, coordinator, key, part.ID, pick(r, []groundhand.RuleSetID{"", "R-C", "R-X", "R-Z"}))
		case 1:
			_, err = o.issuer.Replace(o.ctx, coordinator, key, number, "a letter was wrong")
		case 2:
			o.withdraw(groundhand.EntryID(number))
		case 3:
			o.withdraw(o.withdraw(groundhand.EntryID(number)))
		case 4:
			was := part.ID
			*part = o.corrected(*part, pick(r, []groundhand.WorkerID{"lukasz", "serban", "gideon"}))
			o.follow(was, part.ID)
		case 5:
			_, err = o.issuer.AnnounceKey(o.ctx, coordinator)
			require.NoError(o, err)
			_, err = o.issuer.ChangeKey(o.ctx, coordinator)
			require.NoError(o, err)
		}
		if len(groundhand.Refusals(err)) == 0 {
			require.NoError(o, err)
		}
		o.remember(ended)
	}
	o.holds(ended)
}

func pick[T any](r *rand.Rand, from []T) T { return from[r.IntN(len(from))] }

// remember notes what is ended, and sees that nothing came back.
func (o *office) remember(ended map[groundhand.CertificateID]State) {
	o.Helper()
	certs, err := store.All[groundhand.Certificate](o.ctx, o.store)
	require.NoError(o, err)
	states, err := o.issuer.States(o.ctx, certs)
	require.NoError(o, err)
	for id, state := range states {
		was, is := ended[id]
		require.True(o, !is || was == state, "what is ended stays so")
		if state == Withdrawn || state == Replaced {
			ended[id] = state
		}
	}
}

// holds looks at the whole from outside.
func (o *office) holds(ended map[groundhand.CertificateID]State) {
	o.Helper()
	certs, err := store.All[groundhand.Certificate](o.ctx, o.store)
	require.NoError(o, err)
	states, err := o.issuer.States(o.ctx, certs)
	require.NoError(o, err)
	slices.SortFunc(certs, func(a, b groundhand.Certificate) int { return strings.Compare(string(a.ID), string(b.ID)) })
	places, want := map[int]bool{}, []string{}
	for i, cert := range certs {
		require.Equal(o, fmt.Sprintf("2025-%04d", i+1), string(cert.ID))
		require.False(o, places[cert.StatusIndex], "a place is given once")
		places[cert.StatusIndex] = true
		state := states[cert.ID]
		if ended[cert.ID] != "" {
			want = append(want, string(cert.ID))
		}
		looked, err := o.issuer.Look(o.ctx, cert.CredentialID)
		require.NoError(o, err)
		require.Equal(o, state, looked.State)
		require.Equal(o, string(cert.ID), o.read(cert).Number, "under whichever key")
	}
	got := o.revoked()
	slices.Sort(got)
	require.Equal(o, want, got)
}
