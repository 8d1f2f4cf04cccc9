// Command groundhand answers who is current, who may be sent and when to practise, on the terminal and as a service.
package main

import (
	"os"
	_ "time/tzdata" // zones are found on a machine without them

	"github.com/alecthomas/kong"
)

// commands is the command line, one field a subcommand.
type commands struct {
	Standing standingCmd `cmd:"" help:"Answer who is current, from a file of facts to a file of answers."`
	Import   importCmd   `cmd:"" help:"Read people, crews, drills or assessments from a CSV or XLSX file into the records."`
	Rotation rotationCmd `cmd:"" help:"Suggest a drill rotation, from a file of a problem to a file of a plan."`
}

func main() {
	var cli commands
	chosen := kong.Parse(&cli, kong.Name("groundhand"),
		kong.Description("Records of aerial-rescue practice: who is current, who may be sent, and why."))
	os.Exit(exitStatus(os.Stderr, chosen.Run()))
}
