package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"unicode/utf8"

	"groundhand/internal/runsheet"
)

// order writes the run sheet of one session.
func (c *rotationCmd) order(ctx context.Context) error {
	p, err := readProblem(c.Sheet, runsheet.Decode)
	if err != nil {
		return err
	}
	progress := newProgress(os.Stderr)
	s, err := runsheet.Plan(ctx, p, runsheet.Options{Seed: c.Seed, Report: func(at runsheet.Progress) {
		progress.show(standing(figuresOfSheet(at.Best, at.Bound)))
	}})
	if no := (*runsheet.NoSheet)(nil); errors.As(err, &no) {
		return &exitError{exitNoPlan, fmt.Errorf("%s: no feasible sheet:\n%w", c.Sheet, no)}
	}
	if err != nil {
		return err
	}
	content := []byte(wallSheet(p, s))
	if !strings.HasSuffix(c.Out, ".txt") {
		if content, err = json.MarshalIndent(s, "", " "); err != nil {
			return err
		}
		content = append(content, '\n')
	}
	if err = writeOut(c.Out, content); err == nil {
		progress.end(figuresOfSheet(s.Objective, s.Bound), sheetCaution)
	}
	return err
}

// sheetCaution stands beside a run sheet that is shown.
const sheetCaution = "A run sheet proposes an order for practice; it does not say how a rescue is carried out, and it makes nobody qualified. " +
	"Local rules, the maker's instructions and licensed practice come first."

func figuresOfSheet(best, bound runsheet.Figures) []figure {
	least := bound.Levels()
	return figures(runsheet.LevelNames, best.Levels(), &least)
}

// wallSheet is a run sheet as plain text, to pin to the wall: the runs in order with a box to tick, then what each person does.
func wallSheet(p runsheet.Problem, s runsheet.Sheet) string {
	var out sheet
	out.text(0, "%s", strings.TrimSpace("RUN SHEET  "+s.Problem))
	out.text(0, "%s", sheetCaution)
	out.line()
	if len(s.Runs) == 0 {
		out.text(0, "Nobody needs a timed run.")
		return out.String()
	}
	rows := [][]string{{"", "run", "lead", "second", "keeps the time"}}
	for i, r := range s.Runs {
		lead, second, keeper := r.Lead, r.Second, r.Timekeeper
		if r.Lone != "" {
			lead, second = r.Lone, "(rescues alone)"
		}
		if keeper == "" {
			keeper = "the instructor"
		}
		rows = append(rows, []string{"[ ]", fmt.Sprint(i + 1), lead, second, keeper})
	}
	table(&out, rows)
	out.heading("Who does what")
	for _, w := range p.People {
		out.text(2, "%s: %s", w.ID, doings(s, w.ID))
	}
	return out.String()
}

// table writes rows in columns as wide as they need.
func table(out *sheet, rows [][]string) {
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], utf8.RuneCountInString(cell))
		}
	}
	for _, row := range rows {
		line := ""
		for i, cell := range row {
			line += cell + strings.Repeat(" ", widths[i]-utf8.RuneCountInString(cell)+2)
		}
		out.WriteString(strings.TrimRight(line, " "))
		out.line()
	}
}

// doings lists the runs of one person by role.
func doings(s runsheet.Sheet, who string) string {
	roles := []struct {
		says string
		is   func(runsheet.Run) bool
	}{
		{"leads", func(r runsheet.Run) bool { return r.Lead == who }},
		{"is second in", func(r runsheet.Run) bool { return r.Second == who }},
		{"rescues alone in", func(r runsheet.Run) bool { return r.Lone == who }},
		{"keeps the time of", func(r runsheet.Run) bool { return r.Timekeeper == who }},
	}
	var parts []string
	for _, role := range roles {
		var runs []string
		for i, r := range s.Runs {
			if role.is(r) {
				runs = append(runs, fmt.Sprint(i+1))
			}
		}
		if len(runs) > 0 {
			parts = append(parts, role.says+" "+strings.Join(runs, ", "))
		}
	}
	if len(parts) == 0 {
		return "nothing to do"
	}
	return strings.Join(parts, "; ")
}
