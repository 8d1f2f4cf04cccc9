package main

import (
	"os"
	"path/filepath"
)

// writeOut writes to a file, or to standard output for "-". The file appears whole or not at all.
func writeOut(name string, content []byte) error {
	if name == "-" {
		_, err := os.Stdout.Write(content)
		return err
	}
	temp, err := os.CreateTemp(filepath.Dir(name), "."+filepath.Base(name)+".*")
	if err != nil {
		return err
	}
	defer os.Remove(temp.Name()) // gone already after the rename
	_, err = temp.Write(content)
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
