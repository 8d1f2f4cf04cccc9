package groundhand

// Account lets somebody use the service in one capacity.
type Account struct {
	ID         AccountID
	RecordedAt Instant
	Name       string
	Capacity   Capacity
	WorkerID   WorkerID // the worker this account belongs to, who is the author of what it enters
}

// Capacity is the role in which somebody uses the service and signs.
type Capacity string

// The capacities.
const (
	Coordinator Capacity = "COORDINATOR" // training coordinator
	Dispatcher  Capacity = "DISPATCHER"
	HR          Capacity = "HR"
	Assessor    Capacity = "ASSESSOR"
	Inspector   Capacity = "INSPECTOR"
	Auditor     Capacity = "AUDITOR"
	CrewForeman Capacity = "FOREMAN"
	FieldWorker Capacity = "WORKER"  // sees own record only
	Program     Capacity = "PROGRAM" // the service itself: sweeps, opening balances
)

// Capacities lists those an account can have, in the order in which they are shown.
var Capacities = []Capacity{Coordinator, Dispatcher, HR, Assessor, Inspector, Auditor, CrewForeman, FieldWorker}

// Token opens the service for an account. Only the digest is kept.
type Token struct {
	ID        EntryID
	AccountID AccountID
	Digest    string // SHA-256 of the token, hexadecimal
	MadeAt    Instant
	RevokedAt Instant
}

// Act is one change asked for with a key made by the client, so that sending it twice does it once.
type Act struct {
	Key       string
	AccountID AccountID
	Name      string // the act
	Digest    string // SHA-256 of the form, so that the same key with another form is refused
	Result    string // id of what was made
	DoneAt    Instant
}

// Repeats is nil when an act asks again for what was done with its key: the same change with the same form. The key of another form is a
// Conflict, so that nobody takes an old answer for a new one.
func (a Act) Repeats(done Act) error {
	if done.Name != a.Name || done.Digest != a.Digest {
		return Conflict("key", "This key was used for another form before; make a new key for a new form.")
	}
	return nil
}
