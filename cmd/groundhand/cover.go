package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/signal"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
	"groundhand/internal/rollcall"
)

// maxQuestion bounds a file of a question, in bytes: more than Decode will take, so that Decode says what is wrong.
const maxQuestion = 16 << 20

// coverCmd answers who may go aloft and who must stay down: from a file to a file, without records; or for a yard's day, from the records.
type coverCmd struct {
	Question string `help:"File of one question, format cover-question/1." placeholder:"FILE"`
	Out      string `help:"File to write to: the answer, format cover-answer/1, or a yard's sheet; - is standard output." placeholder:"FILE"`
	Yard     string `help:"A yard, by name: print its cover for a day, to pin to the wall." placeholder:"NAME"`
	Day      string `help:"The day, like 2025-06-12; tomorrow if left out." placeholder:"DATE"`
	Suppose  bool   `help:"For a yard: take the looks of the day that nobody recorded as to be made and good. For a day to come that is so anyway."`
	recordsFlags
}

// Run ends with status 2 when the question is faulty or cannot be read. The answer to a faulty question names the refused fields.
func (c *coverCmd) Run() error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	switch {
	case c.Question == "" && c.Yard == "":
		return &exitError{exitFaulty, errors.New("cover: name a file with --question, or a yard with --yard")}
	case c.Question != "" && (c.Yard != "" || c.Day != ""):
		return &exitError{exitFaulty, errors.New("cover: give --question, or --yard with --day, and not both")}
	case c.Yard != "":
		return c.pin(ctx)
	case c.Out == "":
		return &exitError{exitFaulty, errors.New("cover: --out names the file to write")}
	}
	return c.answerFile(ctx)
}

// pin writes the sheet of a yard.
func (c *coverCmd) pin(ctx context.Context) error {
	return c.with(func(_ context.Context, h *house) error {
		yard, err := yardNamed(ctx, h.records, c.Yard)
		if err != nil {
			return err
		}
		day, err := dayNamed(c.Day, h.records.Now().In(h.roll.Zone()))
		if err != nil {
			return err
		}
		looks := rollcall.LooksByDay
		if c.Suppose {
			looks = rollcall.LooksSupposed
		}
		text, err := h.yardSheet(ctx, yard, day, looks)
		if err != nil {
			return err
		}
		return writeOut(cmp.Or(c.Out, "-"), []byte(text))
	})
}

// answerFile answers one file. No answer is shown here: whoever shows it puts the caution beside it.
func (c *coverCmd) answerFile(ctx context.Context) error {
	file, err := readUpTo(c.Question, maxQuestion)
	if err != nil {
		return &exitError{exitFaulty, err}
	}
	q, err := readiness.Decode(file)
	if err != nil {
		return c.refuse(q, err)
	}
	answer, err := readiness.JudgeWithin(ctx, q)
	if err != nil {
		return c.refuse(q, err)
	}
	return writeJSON(c.Out, answer)
}

// refuse writes which fields are refused. An error that refuses nothing is passed on, and nothing is written.
func (c *coverCmd) refuse(q readiness.Question, err error) error {
	if len(groundhand.Refusals(err)) == 0 {
		return err
	}
	if failed := writeJSON(c.Out, readiness.Refusal{Question: q.Name, Err: err}); failed != nil {
		return failed
	}
	return &exitError{exitFaulty, fmt.Errorf("%s: the question is faulty:\n%w", c.Question, err)}
}

func writeJSON(name string, v any) error {
	content, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	return writeOut(name, append(content, '\n'))
}
