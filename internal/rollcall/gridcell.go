package rollcall

import (
	"context"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// fill writes the questions one after another and has them judged side by side.
func (s *storm) fill(ctx context.Context) error {
	for i := range s.rows {
		if err := s.askRow(&s.rows[i]); err != nil {
			return err
		}
	}
	return s.eachCell(ctx, func(row *stormRow, c int) error {
		if row.Cells[c].Refused != nil {
			return nil
		}
		var err error
		row.cells[c].answer, err = readiness.Judge(row.cells[c].question)
		if len(groundhand.Refusals(err)) > 0 {
			row.Cells[c].refuse(err)
			return nil
		}
		row.Cells[c].read(row.cells[c].answer)
		return err
	})
}

// refuse: what was not judged is not known.
func (c *GridCell) refuse(err error) { c.Refused, c.Verdict = err, readiness.CannotTell }

func (c *GridCell) read(a readiness.Answer) {
	c.Verdict, c.HoldsUntil, c.Then, c.Conditions, c.Findings = a.Verdict, a.HoldsUntil.Verdict.At, a.HoldsUntil.Then, a.Conditions, a.Findings
	if len(a.Choices) == 0 || a.Choices[0].Class < readiness.Conditional {
		return
	}
	for _, who := range a.Choices[0].Aloft {
		c.Aloft = append(c.Aloft, groundhand.WorkerID(who))
	}
}

// eachCell does something with every cell, on as many processors as chunks are looked at.
func (s *storm) eachCell(ctx context.Context, do func(row *stormRow, c int) error) error {
	return sideBySide(ctx, len(s.rows), func(_ context.Context, i int) error {
		for c := range s.rows[i].Cells {
			if err := do(&s.rows[i], c); err != nil {
				return err
			}
		}
		return nil
	})
}

// askRow writes the questions of one crew. People are the same for all devices of a family, device and kit for all kinds of job.
func (s *storm) askRow(row *stormRow) error {
	ofFamily := map[groundhand.FamilyID]CoverAnswer{}
	for _, device := range row.devices {
		q, err := s.askDevice(row, device, ofFamily)
		if err != nil && len(groundhand.Refusals(err)) == 0 {
			return err
		}
		for _, k := range s.kinds {
			cell := GridCell{CellID: CellID{row.Crew.ID, device, k.Kind}, Looks: q.Looks}
			if err != nil {
				cell.refuse(err)
			}
			ask := s.ask.Ask(cell.CellID)
			q.Question.Name, q.Question.Job = ask.name(), ask.job(row.Crew, s.rules.Cover)
			row.Cells, row.cells = append(row.Cells, cell), append(row.cells, stormCell{question: q.Question})
		}
	}
	return nil
}

func (s *storm) askDevice(row *stormRow, device groundhand.DeviceID, ofFamily map[groundhand.FamilyID]CoverAnswer) (CoverAnswer, error) {
	ask := s.ask.Ask(CellID{row.Crew.ID, device, s.kinds[0].Kind})
	known, _ := s.gear.known(device, s.ask.FromAt)
	q, seen := ofFamily[known.FamilyID]
	if seen {
		return q, s.addGear(&q, ask, s.rules.Inspections)
	}
	q, err := s.question(ask)
	if err == nil {
		ofFamily[known.FamilyID] = q
	}
	return q, err
}
