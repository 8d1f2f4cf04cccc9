package rollcall

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"groundhand/internal/groundhand"
)

func TestWhoMayBeOnePerson(t *testing.T) {
	day := groundhand.MustDate
	in := func(crew groundhand.CrewID, from, to string) []groundhand.Membership {
		m := groundhand.Membership{CrewID: crew, FromOn: day(from)}
		if to != "" {
			m.ToOn = day(to)
		}
		return []groundhand.Membership{m}
	}
	number := func(n, from, to string) []numberHeld {
		h := numberHeld{number: n, from: day(from)}
		if to != "" {
			h.to = day(to)
		}
		return []numberHeld{h}
	}
	for name, c := range map[string]struct {
		a, b identity
		why  []string
	}{
		"one name in another order and without accents": {identity{names: []string{"Ana-Lúcia Brandvold"}}, identity{names: []string{"BRANDVOLD, Ana-Lucia"}}, []string{"both have one name"}},
		"accents typed apart":                           {identity{names: []string{"Lúcia"}}, identity{names: []string{"Lu\u0301cia"}}, []string{"both have one name"}},
		"a name of earlier days":                        {identity{names: []string{"Maren Oduya", "Maren Holm"}}, identity{names: []string{"Holm Maren"}}, []string{"both have one name"}},
		"one name in two crews at one time": {identity{names: []string{"Ola Berg"}, crews: in("V1", "2025-01-01", "")},
			identity{names: []string{"Ola Berg"}, crews: in("V2", "2025-02-01", "2025-03-01")}, nil},
		"one name in two crews one after the other": {identity{names: []string{"Ola Berg"}, crews: in("V1", "2025-01-01", "2025-01-31")},
			identity{names: []string{"Ola Berg"}, crews: in("V2", "2025-02-01", "")}, []string{"both have one name"}},
		"a number used again later":  {identity{numbers: number("7", "2020-01-01", "2022-12-31")}, identity{numbers: number("7", "2023-01-01", "")}, nil},
		"one number on one day":      {identity{numbers: number("7", "2020-01-01", "2023-01-01")}, identity{numbers: number("7", "2023-01-01", "")}, []string{"both have the number 7 at one time"}},
		"no numbers":                 {identity{numbers: number("", "2020-01-01", "")}, identity{numbers: number("", "2020-01-01", "")}, nil},
		"names of signs alone":       {identity{names: []string{"--"}}, identity{names: []string{"..."}}, nil},
		"nothing known of either":    {identity{}, identity{}, nil},
		"one given name, other yard": {identity{names: []string{"Ana Holm"}, first: day("2025-03-03"), yards: []groundhand.YardID{"X"}}, identity{names: []string{"Berg, Ana"}, first: day("2025-03-03"), yards: []groundhand.YardID{"Y"}}, nil},
		"one given name, yard and first day": {identity{names: []string{"Ana Holm"}, first: day("2025-03-03"), yards: []groundhand.YardID{"X"}},
			identity{names: []string{"Berg, Ana"}, first: day("2025-03-03"), yards: []groundhand.YardID{"X"}}, []string{"one given name in one yard from one first day"}},
	} {
		c.a.id, c.b.id = "a", "b"
		var want []Duplicate
		if c.why != nil {
			want = []Duplicate{{"a", "b", c.why}}
		}
		assert.Equal(t, want, duplicates([]identity{c.a, c.b}), name)
	}
}

func TestHowLongANameIsKept(t *testing.T) {
	day := groundhand.MustDate
	left := []groundhand.Employment{{FromOn: day("2015-01-01"), ToOn: day("2020-06-30")}}
	five := groundhand.Retention{Class: groundhand.TrainingRecords, Months: 60}
	five.HappenedOn = day("2019-01-01")
	ten := five
	ten.Months, ten.HappenedOn = 120, day("2025-07-01")
	other := five
	other.Class, other.Months = groundhand.AnswerRecords, 1
	for name, c := range map[string]struct {
		employments []groundhand.Employment
		retentions  []groundhand.Retention
		holds       []groundhand.EntryID
		on, until   string
		may         bool
	}{
		"the last day of keeping":        {left, []groundhand.Retention{five, other}, nil, "2025-06-30", "2025-06-30", false},
		"the day after":                  {left, []groundhand.Retention{five, other}, nil, "2025-07-01", "2025-06-30", true},
		"held":                           {left, []groundhand.Retention{five}, []groundhand.EntryID{"h"}, "2025-07-01", "2025-06-30", false},
		"a longer retention since today": {left, []groundhand.Retention{ten, five}, nil, "2025-07-01", "2030-06-30", false},
		"no retention":                   {left, []groundhand.Retention{other}, nil, "2025-07-01", "", false},
		"a retention that begins later":  {left, []groundhand.Retention{ten}, nil, "2025-06-30", "", false},
		"still here":                     {append(left, groundhand.Employment{FromOn: day("2021-01-01")}), []groundhand.Retention{five}, nil, "2025-07-01", "", false},
		"no employment":                  {nil, []groundhand.Retention{five}, nil, "2025-07-01", "", false},
	} {
		f := retentionFacts{employments: map[groundhand.WorkerID][]groundhand.Employment{"a": c.employments}, retentions: c.retentions,
			held: map[groundhand.WorkerID][]groundhand.EntryID{"a": c.holds}}
		k := f.keeping("a", day(c.on))
		assert.Equal(t, c.may, k.MayErase, name)
		assert.NotEmpty(t, k.Why, name)
		if c.until == "" {
			assert.Zero(t, k.Until, name)
		} else {
			assert.Equal(t, day(c.until), k.Until, name)
		}
	}
}
