package readiness_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// set finds the changes of a fix among all changes offered.
func (b *brute) set(f readiness.Fix) []bruteChange {
	var set []bruteChange
	for _, c := range f.Changes {
		i := slices.IndexFunc(b.changes, func(o bruteChange) bool {
			return o.do == c.Do && o.id == c.ID && slices.Equal(o.people, c.People) || o.do == c.Do && o.id == c.ID && len(c.People) == 0
		})
		if i >= 0 {
			set = append(set, b.changes[i])
		}
	}
	return set
}

func TestEveryFixReachesTheTargetAndNoChangeOfItCanBeLeftOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := short(t)
		a := ask(t, q)
		b := &brute{t: t, q: q, pool: q.Pool, verdict: map[string]readiness.Verdict{}}
		b.q.Pool = nil
		b.gather()
		for _, f := range a.Fixes {
			if f.Rung == readiness.RungAloft || f.Rung == readiness.RungDoNotSend {
				continue
			}
			set := b.set(f)
			require.Len(t, set, len(f.Changes))
			_, works := b.works(set)
			require.True(t, works)
			for i := range set {
				_, works := b.works(slices.Delete(slices.Clone(set), i, i+1))
				require.False(t, works && len(set) > 1, "%v without %d", f.Changes, i)
			}
		}
	})
}

// With nothing unknown there is one reading. Somebody must be aloft: on the ground alone a second person brings the first-aid line in.
func TestUnderOneReadingMorePeopleAreNeverWorseAndFewerNeverBetter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := crews(t, 1, false)
		before := ask(t, q).Verdict
		p := dice{t, false}.person("zoe")
		p.Unavailable = nil
		more := q
		more.People = append(slices.Clone(q.People), p)
		require.GreaterOrEqual(t, ask(t, more).Verdict, before)
		gone := q.People[rapid.IntRange(0, len(q.People)-1).Draw(t, "who goes")].ID
		if slices.ContainsFunc(q.Job.Exclusive, func(d readiness.Duty) bool { return d.Person == gone }) {
			return
		}
		fewer := q
		fewer.People = slices.DeleteFunc(slices.Clone(q.People), func(p readiness.Person) bool { return p.ID == gone })
		require.LessOrEqual(t, ask(t, fewer).Verdict, before)
	})
}

func TestAMomentIsJudgedAsAWindowOfThatStretchAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := crews(t, 0, true)
		for _, s := range ask(t, q).Timeline {
			q.Window.From = s.From.At + groundhand.Instant(rapid.Int64Range(0, int64(s.To.At-s.From.At)-1).Draw(t, "moment"))
			q.Window.To = q.Window.From + 1
			alone := ask(t, q)
			require.Equal(t, s.Verdict, alone.Verdict)
			require.Equal(t, s.MayGoAloft, mayGo(alone))
		}
	})
}
