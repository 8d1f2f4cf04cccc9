package store

import (
	"context"
	"fmt"
	"os"
)

// CopyTo writes a copy of the records as they stand into a new file, while others may be writing. The file may not be there.
func (s *Store) CopyTo(ctx context.Context, path string) error {
	if _, err := os.Lstat(path); err == nil {
		return fmt.Errorf("there is a file %s already", path)
	}
	return coded(s.past.WithContext(ctx).Exec("VACUUM main INTO ?", path).Error)
}
