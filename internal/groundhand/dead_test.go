package groundhand

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDead(t *testing.T) {
	chain := []Mark{{"A", ""}, {"B", "A"}, {"C", "B"}}
	withdraw := func(pairs ...EntryID) (out []Withdrawal) {
		for i := 0; i < len(pairs); i += 2 {
			out = append(out, Withdrawal{ID: pairs[i], WithdrawsID: pairs[i+1]})
		}
		return out
	}
	cases := []struct {
		name        string
		marks       []Mark
		withdrawals []Withdrawal
		dead        []EntryID
	}{
		{"nothing said against anything", []Mark{{"A", ""}}, nil, nil},
		{"of a chain only the last stands", chain, nil, []EntryID{"A", "B"}},
		{"withdraw the last and the one before stands", chain, withdraw("w", "C"), []EntryID{"A", "C"}},
		{"withdraw only the middle and the last still stands", chain, withdraw("w", "B"), []EntryID{"A", "B"}},
		{"withdraw middle and last and the first stands", chain, withdraw("w", "B", "v", "C"), []EntryID{"B", "C"}},
		{"withdraw the first and the chain is as before", chain, withdraw("w", "A"), []EntryID{"A", "B"}},
		{"withdraw the withdrawal of the last", chain, withdraw("w", "C", "v", "w"), []EntryID{"A", "B", "w"}},
		{"withdraw the withdrawal of the withdrawal", chain, withdraw("w", "C", "v", "w", "u", "v"), []EntryID{"A", "C", "v"}},
		{"two withdrawals, one of them withdrawn", []Mark{{"A", ""}}, withdraw("w", "A", "v", "A", "u", "w"), []EntryID{"A", "w"}},
		{"two corrections of one record, one withdrawn", []Mark{{"B", "A"}, {"C", "A"}}, withdraw("w", "B"), []EntryID{"A", "B"}},
		{"a ring ends", []Mark{{"A", "B"}, {"B", "A"}}, nil, []EntryID{"A", "B"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := Dead(c.marks, c.withdrawals)
			var dead []EntryID
			for _, id := range []EntryID{"A", "B", "C", "u", "v", "w"} {
				if got[id] {
					dead = append(dead, id)
				}
			}
			assert.Equal(t, c.dead, dead)
		})
	}
}
