package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/signal"

	"groundhand/internal/groundhand"
	"groundhand/internal/readiness"
)

// maxQuestion bounds a file of a question, in bytes: more than Decode will take, so that Decode says what is wrong.
const maxQuestion = 16 << 20

// coverCmd answers who may go aloft and who must stay down, from a file to a file, without a database.
type coverCmd struct {
	Question string `help:"File of one question, format cover-question/1." placeholder:"FILE"`
	Out      string `help:"File to write the answer to, format cover-answer/1; - is standard output." placeholder:"FILE"`
}

// Run ends with status 2 when the question is faulty or cannot be read. The answer to a faulty question names the refused fields.
func (c *coverCmd) Run() error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	switch {
	case c.Question == "":
		return &exitError{exitFaulty, errors.New("cover: --question names the file to answer")}
	case c.Out == "":
		return &exitError{exitFaulty, errors.New("cover: --out names the file to write")}
	}
	return c.answerFile(ctx)
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
