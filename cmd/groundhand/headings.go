package main

import (
	"fmt"
	"os"
	"text/tabwriter"

	"groundhand/internal/exchange"
)

// headingsCmd tells what stands in a file to be imported.
type headingsCmd struct {
	Kind string `arg:"" enum:"people,crews,drills,assessments" help:"people, crews, drills or assessments."`
}

// Run lists the headings of the kind; their order in a file is free.
func (c *headingsCmd) Run() error {
	out := tabwriter.NewWriter(os.Stdout, 0, 4, 2, ' ', 0)
	for _, column := range exchange.Columns(exchange.Kind(c.Kind)) {
		needed := "may be left out"
		if column.Needed {
			needed = "needed"
		}
		fmt.Fprintf(out, "%s\t%s\t%s\n", column.Name, needed, column.Holds)
	}
	if err := out.Flush(); err != nil {
		return err
	}
	_, err := fmt.Println("Other headings can be mapped to these; import --dry-run proposes how. A day such as 03/04/24 is refused, unless whoever maps its " +
		"column states the order, as \"date DD/MM/YY\".")
	return err
}
