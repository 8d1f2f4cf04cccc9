package training

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"groundhand/internal/exchange"
	"groundhand/internal/groundhand"
)

var foreign = file(exchange.Drills, "When, staff no,Technique,Part,Finished,Initials", "03/04/24,1002,pair kit,lead,yes,Y")

func TestSaveMapping(t *testing.T) {
	sc := newScene(t)
	headings := []string{"When", "Staff No", "Technique", "Part", "Finished", "Initials"}
	columns := []string{"date", "number", "method", "role", "complete", ""}
	assert.Zero(t, sc.preview(foreign()).Rows)

	first := must(sc, sc.desk.SaveMapping, MappingForm{Title: "Depot book", Headings: headings, Columns: columns})
	p := sc.preview(foreign())
	assert.Equal(t, first.ID, p.Columns.Saved, "capitals and spaces make no other heading")
	assert.Equal(t, []string{"A2 INVALID"}, cells(p), "a day that can be read in two ways")

	stated := append([]string{"date DD/MM/YY"}, columns[1:]...)
	second := must(sc, sc.desk.SaveMapping, MappingForm{Title: "Depot book, day first", Headings: headings, Columns: stated})
	p = sc.preview(foreign())
	assert.Equal(t, second.ID, p.Columns.Saved, "the last one holds")
	assert.Equal(t, []int{2}, p.New)

	given := foreign()
	given.Mapping = columns
	assert.Equal(t, []string{"A2 INVALID"}, cells(sc.preview(given)), "the one that is given goes before")

	t.Run("headings in another order are other headings", func(t *testing.T) {
		assert.Empty(t, sc.preview(table(exchange.Drills, "Staff No,When,Technique,Part,Finished,Initials", "1002,2024-04-03,pair kit,lead,yes,")).Columns.Saved)
	})
	t.Run("a mapping for another kind of table is not used", func(t *testing.T) {
		c, err := sc.desk.ProposeMapping(sc.ctx, sc.coordinator, table(exchange.Crews, "When,Staff No,Technique,Part,Finished,Initials"))
		require.NoError(t, err)
		assert.Empty(t, c.Saved)
	})
	t.Run("one that is withdrawn is not used", func(t *testing.T) {
		last := must(sc, sc.desk.SaveMapping, MappingForm{Title: "Depot book, day last", Headings: headings, Columns: append([]string{"date MM/DD/YY"}, columns[1:]...)})
		_, err := sc.desk.Withdraw(sc.ctx, sc.coordinator, sc.key(), WithdrawalForm{EntryID: last.ID, Because: "nobody there writes the month first"})
		require.NoError(t, err)
		assert.Equal(t, second.ID, sc.preview(foreign()).Columns.Saved)
	})
	t.Run("one that is replaced is not used", func(t *testing.T) {
		third := must(sc, sc.desk.SaveMapping, MappingForm{Entry: Entry{Replaces: second.ID, Because: "the order was a guess"}, Title: "Depot book", Headings: headings, Columns: columns})
		assert.Equal(t, third.ID, sc.preview(foreign()).Columns.Saved)
	})
	t.Run("a given mapping that does not fit", func(t *testing.T) {
		f := foreign()
		f.Mapping = []string{"date"}
		_, err := sc.desk.Preview(sc.ctx, sc.coordinator, f)
		assert.ErrorIs(t, err, groundhand.CodeInvalid)
	})
}

func TestRefuseMapping(t *testing.T) {
	sc := newScene(t)
	two := []string{"When", "Who"}
	cases := []struct {
		name string
		form MappingForm
		want []string
	}{
		{"nothing in it", MappingForm{}, []string{"INVALID columns", "INVALID headings", "INVALID title"}},
		{"a column that no table has", MappingForm{Title: "x", Headings: two, Columns: []string{"date", "shoe size"}}, []string{"INVALID columns[1]"}},
		{"columns of different tables", MappingForm{Title: "x", Headings: two, Columns: []string{"result", "normal size"}}, []string{"INVALID columns[0]"}},
		{"one column twice", MappingForm{Title: "x", Headings: two, Columns: []string{"date", "Date"}}, []string{"INVALID columns[1]"}},
		{"fewer columns than headings", MappingForm{Title: "x", Headings: two, Columns: []string{"date"}}, []string{"INVALID columns"}},
		{"an order of days for what is no day", MappingForm{Title: "x", Headings: two, Columns: []string{"date", "number DD/MM/YY"}}, []string{"INVALID columns[1]"}},
		{"a heading that turns the direction of writing", MappingForm{Title: "x", Headings: []string{"a\u202e", "b"}, Columns: []string{"date", ""}}, []string{"INVALID headings[0]"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			sc.refused(func() error { return try(sc, sc.desk.SaveMapping, c.form) }, c.want...)
		})
	}
	for _, by := range []groundhand.Account{sc.assessor, sc.dispatcher, {}} {
		_, err := sc.desk.SaveMapping(sc.ctx, by, sc.key(), MappingForm{Title: "x", Headings: two, Columns: []string{"date", ""}})
		assert.Error(t, err)
		_, err = sc.desk.ProposeMapping(sc.ctx, by, foreign())
		assert.Error(t, err)
	}
}
