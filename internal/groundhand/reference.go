package groundhand

import (
	"database/sql/driver"
	"fmt"
)

// An identifier that refers to nothing is stored as NULL, so that the database can hold every other one to its target.

func refValue[K ~string](id K) (driver.Value, error) {
	if id == "" {
		return nil, nil
	}
	return string(id), nil
}

func scanRef[K ~string](id *K, src any) error {
	switch v := src.(type) {
	case nil:
		*id = ""
	case string:
		*id = K(v)
	case []byte:
		*id = K(v)
	default:
		return fmt.Errorf("an identifier cannot be read from %T", src)
	}
	return nil
}

// Value stores the identifier, empty as NULL.
func (id EntryID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *EntryID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id WorkerID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *WorkerID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id YardID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *YardID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id CrewID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *CrewID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id FamilyID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *FamilyID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id DeviceID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *DeviceID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id KitID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *KitID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id SessionID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *SessionID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id RunID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *RunID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id JobID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *JobID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id RuleSetID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *RuleSetID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id FlagID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *FlagID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id PlanID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *PlanID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id AccountID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *AccountID) Scan(src any) error { return scanRef(id, src) }

// Value stores the identifier, empty as NULL.
func (id CertificateID) Value() (driver.Value, error) { return refValue(id) }

// Scan reads what Value stored.
func (id *CertificateID) Scan(src any) error { return scanRef(id, src) }
