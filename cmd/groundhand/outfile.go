package main

import (
	"bufio"
	"io"
	"os"
	"path/filepath"
)

// writeOut writes to a file, or to standard output for "-". The file appears whole or not at all.
func writeOut(name string, content []byte) error {
	return streamOut(name, func(w io.Writer) error {
		_, err := w.Write(content)
		return err
	})
}

// streamOut is writeOut for what is too large to be made beforehand.
func streamOut(name string, write func(w io.Writer) error) error {
	if name == "-" {
		return write(os.Stdout)
	}
	temp, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(temp.Name()) // gone already after the rename
	buffered := bufio.NewWriterSize(temp, 1<<16)
	err = write(buffered)
	if err == nil {
		err = buffered.Flush()
	}
	if err == nil {
		err = temp.Chmod(0o644)
	}
	if err == nil {
		err = temp.Sync()
	}
	if closed := temp.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return err
	}
	return os.Rename(temp.Name(), name)
}
