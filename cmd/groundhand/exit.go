package main

import (
	"errors"
	"fmt"
	"io"

	"groundhand/internal/groundhand"
)

// Exit statuses that mean something to a script. Everything else that goes wrong is 1.
const (
	exitFailed = 1
	exitFaulty = 2 // what was handed in is faulty; nothing was written
)

// exitError is an error with the status that the program ends with.
type exitError struct {
	status int
	err    error
}

func (e *exitError) Error() string { return e.err.Error() }

// Unwrap lets the cause be matched.
func (e *exitError) Unwrap() error { return e.err }

// exitStatus prints an error, if there is one, and gives the status to end with.
func exitStatus(stderr io.Writer, err error) int {
	if err == nil {
		return 0
	}
	fmt.Fprintln(stderr, "groundhand:", err)
	if known := (*exitError)(nil); errors.As(err, &known) {
		return known.status
	}
	return exitFailed
}

// faulty gives a refusal the status for what was handed in faulty.
func faulty(err error) error {
	if len(groundhand.Refusals(err)) > 0 {
		return &exitError{exitFaulty, err}
	}
	return err
}
