// Command groundhand answers who is current, who may be sent and when to practise, on the terminal and as a service.
package main

import (
	"os"
	_ "time/tzdata" // zones are found on a machine without them

	"github.com/alecthomas/kong"
)

// commands is the command line, one field a subcommand.
type commands struct {
	Serve    serveCmd    `cmd:"" help:"Serve the records over the API and keep watch."`
	Sweep    sweepCmd    `cmd:"" help:"Look for lapses and short crews for a day, by hand."`
	Import   importCmd   `cmd:"" help:"Read people, crews, drills or assessments from a CSV or XLSX file into the records."`
	Headings headingsCmd `cmd:"" help:"List the headings of a file to import."`
	Export   exportCmd   `cmd:"" help:"Write signed certificates as a ZIP that anybody can check."`
	Pack     packCmd     `cmd:"" help:"Answer whether named people are good under a rule set, and write what its client is handed."`
	Demo     demoCmd     `cmd:"" help:"Play an invented company, answer one evening's questions on the terminal, then serve it on loopback."`
	Standing standingCmd `cmd:"" help:"Answer who is current, from a file of facts to a file of answers."`
	Cover    coverCmd    `cmd:"" help:"Answer who may go aloft and what would put a short crew right, from a file of a question to a file of the answer."`
	Rotation rotationCmd `cmd:"" help:"Suggest a drill rotation, from a file of a problem to a file of a plan."`
	Rules    rulesCmd    `cmd:"" help:"The rule sets that come with the program, and taking one over."`
	Account  accountCmd  `cmd:"" help:"Accounts and tokens."`
	Key      keyCmd      `cmd:"" help:"The keys that certificates are signed with."`

	Audit      auditCmd      `cmd:"" help:"Ask whether the records deserve belief: samples, screens, the trail of corrections, an audit pack."`
	Verify     verifyCmd     `cmd:"" help:"Prove that no record was changed, removed or put in past the program."`
	Checkpoint checkpointCmd `cmd:"" help:"Sign how far the log of the records has come, to keep elsewhere."`
}

func main() {
	var cli commands
	chosen := kong.Parse(&cli, kong.Name("groundhand"),
		kong.Description("Records of aerial-rescue practice: who is current, who may be sent, and why."))
	os.Exit(exitStatus(os.Stderr, chosen.Run()))
}
