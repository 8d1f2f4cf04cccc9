package main

import (
	"fmt"
	"io"
	"os"

	"groundhand/internal/competence"
	"groundhand/internal/groundhand"
)

// maxFacts bounds a file of facts, in bytes: some 400,000 entries fit.
const maxFacts = 256 << 20

// standingCmd answers standing questions from a file to a file, without a database.
type standingCmd struct {
	Facts string `required:"" type:"existingfile" help:"File of facts and questions, format standing-facts/1."`
	Out   string `required:"" help:"File to write the answers to, format standing-answers/1; - is standard output."`
}

// Run ends with status 2 when the facts are faulty.
func (c *standingCmd) Run() error {
	facts, err := readUpTo(c.Facts, maxFacts)
	if err != nil {
		return err
	}
	answers, err := competence.AnswerFile(facts)
	if len(groundhand.Refusals(err)) > 0 {
		return &exitError{exitFaulty, fmt.Errorf("%s: the facts are faulty: %w", c.Facts, err)}
	}
	if err != nil {
		return err
	}
	return writeOut(c.Out, answers)
}

// readUpTo reads a file that must not be larger than a number of bytes.
func readUpTo(name string, most int64) ([]byte, error) {
	file, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	content, err := io.ReadAll(io.LimitReader(file, most+1))
	if err == nil && int64(len(content)) > most {
		err = &exitError{exitFaulty, fmt.Errorf("%s is larger than %d bytes", name, most)}
	}
	return content, err
}
