package house

// A room is one package of ours and what it may reach.
type room struct {
	ours    []string // our packages it may import, below groundhand/
	outside []string // module paths it may import besides the standard library
	pure    bool     // an engine: no clock, no input or output, no chance of its own
}

const (
	vocabulary = "internal/groundhand"
	gqlgen     = "github.com/99designs/gqlgen"
	gqlparser  = "github.com/vektah/gqlparser/v2"
	testify    = "github.com/stretchr/testify"
	rapid      = "pgregory.net/rapid"
)

// plan is the house: downwards only. A package that is not here does not belong to it. What tests alone import is not judged.
var plan = map[string]room{
	vocabulary:                 {pure: true},
	"internal/competence":      {ours: []string{vocabulary}, pure: true},
	"internal/readiness":       {ours: []string{vocabulary, "internal/competence"}, pure: true},
	"internal/linear":          {pure: true},
	"internal/rotation":        {ours: []string{vocabulary, "internal/strictjson", "internal/linear"}, pure: true},
	"internal/runsheet":        {ours: []string{vocabulary, "internal/strictjson"}, pure: true},
	"internal/strictjson":      {ours: []string{vocabulary}, pure: true},
	"internal/rulebook":        {ours: []string{vocabulary, "internal/competence", "internal/readiness"}, pure: true},
	"internal/checklist":       {ours: []string{vocabulary}, pure: true},
	"internal/ledger":          {ours: []string{vocabulary}, outside: []string{"golang.org/x/mod"}},
	"internal/store":           {ours: []string{vocabulary, "internal/ledger"}, outside: []string{"gorm.io", "modernc.org/sqlite", "github.com/pressly/goose/v3", "github.com/google/uuid"}},
	"internal/store/storetest": {ours: []string{vocabulary, "internal/store"}, outside: []string{testify}},
	"internal/access":          {ours: []string{vocabulary, "internal/store"}},
	"internal/exchange":        {ours: []string{vocabulary}, outside: []string{"github.com/xuri/excelize/v2", "golang.org/x/text"}},
	"internal/certificate/paper": {ours: []string{vocabulary},
		outside: []string{"codeberg.org/go-pdf/fpdf", "github.com/go-fonts/dejavu", "github.com/skip2/go-qrcode", "golang.org/x/image", "golang.org/x/text"}},
	"internal/certificate/credential": {ours: []string{vocabulary, "internal/strictjson"}, pure: true,
		outside: []string{"github.com/piprate/json-gold", "github.com/mr-tron/base58"}},
	"internal/certificate/keyring": {
		ours: []string{"internal/certificate/credential"}},
	"internal/rollcall": {ours: []string{vocabulary, "internal/competence", "internal/readiness", "internal/rotation", "internal/rulebook", "internal/runsheet", "internal/store"},
		outside: []string{"golang.org/x/sync", "golang.org/x/text"}},
	"internal/training":    {ours: []string{vocabulary, "internal/access", "internal/store", "internal/rollcall", "internal/competence", "internal/rotation", "internal/rulebook", "internal/exchange", "internal/checklist"}},
	"internal/certificate": {ours: []string{vocabulary, "internal/rulebook", "internal/access", "internal/store", "internal/rollcall", "internal/competence", "internal/certificate/paper", "internal/certificate/credential", "internal/certificate/keyring"}},
	"internal/web":         {ours: []string{vocabulary, "internal/certificate", "internal/certificate/credential"}, outside: []string{"github.com/go-chi/httprate", "github.com/google/uuid"}},
	"internal/watch":       {ours: []string{vocabulary, "internal/store", "internal/rollcall", "internal/competence"}, outside: []string{"github.com/robfig/cron/v3"}},
	"internal/audit":       {ours: []string{vocabulary, "internal/store", "internal/ledger", "internal/rollcall", "internal/access"}},
	"internal/demo":        {ours: []string{vocabulary, "internal/training", "internal/access", "internal/certificate", "internal/rulebook", "internal/checklist"}},
	"internal/house":       {},
	"graph/scalar":         {ours: []string{vocabulary}, outside: []string{gqlgen}},
	"graph/generated": {ours: []string{vocabulary, "graph/scalar", "internal/competence", "internal/readiness", "internal/rotation", "internal/runsheet", "internal/rollcall", "internal/training", "internal/certificate", "internal/exchange", "internal/checklist", "internal/audit", "internal/ledger"},
		outside: []string{gqlgen, gqlparser}},
	"graph": {ours: []string{vocabulary, "graph/generated", "graph/scalar", "internal/access", "internal/store", "internal/rollcall", "internal/training", "internal/certificate",
		"internal/competence", "internal/readiness", "internal/rotation", "internal/runsheet", "internal/rulebook", "internal/exchange", "internal/watch", "internal/checklist", "internal/audit", "internal/ledger"},
		outside: []string{gqlgen, gqlparser, "github.com/vikstrous/dataloadgen"}},
	"cmd/groundhand": {ours: []string{"*"}, outside: []string{"github.com/alecthomas/kong", "github.com/google/uuid", "golang.org/x/term"}},
}

// oneImporter names libraries that exactly one package of ours may import.
var oneImporter = map[string]string{
	"gorm.io":                      "internal/store",
	"github.com/robfig/cron/v3":    "internal/watch",
	"codeberg.org/go-pdf/fpdf":     "internal/certificate/paper",
	"github.com/xuri/excelize/v2":  "internal/exchange",
	"github.com/piprate/json-gold": "internal/certificate/credential",
	"github.com/mr-tron/base58":    "internal/certificate/credential",
	"github.com/alecthomas/kong":   "cmd/groundhand",
	"github.com/go-chi/httprate":   "internal/web",
}

// impure are standard packages that an engine may not import: the clock is caught by its calls, because time is needed for zones.
var impure = []string{"os", "os/exec", "io/ioutil", "net", "net/http", "database/sql", "log", "log/slog", "crypto/rand", "syscall", "testing"}

// bannedNames say nothing about what a package is for.
var bannedNames = []string{"util", "utils", "common", "helper", "helpers", "misc", "types", "model", "models", "manager", "service", "services", "base", "impl", "core", "lib", "shared", "api", "handlers"}

// topLevel is all that may stand at the top of the tree, besides dot-files.
var topLevel = []string{"cmd", "graph", "internal", "schema.graphql", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md"}
