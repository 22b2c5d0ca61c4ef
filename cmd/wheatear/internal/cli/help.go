package cli

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"example.org/wheatear/cmd/wheatear/internal/wiring"
)

// newHelp is the command help: of a command, or of a topic.
func newHelp(a *app, root *cobra.Command) *cobra.Command {
	var svg string
	cmd := &cobra.Command{
		Use:   "help [COMMAND or TOPIC]",
		Short: "Explain a command, or a topic: wiring, jig, json, licences",
		Long: `Help shows how a command is used, or one of the topics:

  wiring    what to connect where, for each pair of channels, and how not to
            harm card, part or person; --svg also draws each wiring into a file
  jig       what a jig file may hold, and what is assumed where it is silent
  json      the JSON documents of the program; with the name of one, its JSON
            Schema
  licences  the modules that are linked into the program, with their licences;
            with the name of one, the licence in full`,
		Example: "  wheatear help wiring --svg drawings\n  wheatear help json measure",
		RunE: func(_ *cobra.Command, args []string) error {
			topic := strings.Join(args, " ")
			if topic == "wiring" {
				return a.helpWiring(svg)
			}
			if svg != "" {
				return usagef("--svg goes with the topic wiring: wheatear help wiring --svg DIR")
			}
			if topic == "jig" {
				jigHelp(a.out)
				return nil
			}
			if len(args) > 0 && args[0] == "json" {
				return a.helpJSON(args[1:])
			}
			if len(args) > 0 && args[0] == "licences" {
				return a.helpLicences(args[1:])
			}
			return helpCommand(root, args)
		},
		ValidArgsFunction: func(_ *cobra.Command, args []string, start string) ([]string, cobra.ShellCompDirective) {
			return helpNames(root, args, start), cobra.ShellCompDirectiveNoFileComp
		},
	}
	cmd.Flags().StringVar(&svg, "svg", "", "also draw each wiring into a file in directory `DIR`")
	return cmd
}

// helpNames completes the argument of help.
func helpNames(root *cobra.Command, args []string, start string) []string {
	names := []string{"wiring", "jig", "json", "licences"}
	switch {
	case len(args) == 0:
		for _, c := range root.Commands() {
			names = append(names, c.Name())
		}
	case len(args) == 1 && args[0] == "json":
		names = schemaNames()
	case len(args) == 1 && args[0] == "licences":
		names = moduleNames()
	default:
		names = nil
	}
	return slices.DeleteFunc(names, func(name string) bool { return !strings.HasPrefix(name, start) })
}

func helpCommand(root *cobra.Command, args []string) error {
	cmd, rest, err := root.Find(args)
	if err != nil || len(rest) > 0 {
		return usagef("there is no help on %q", strings.Join(args, " "))
	}
	cmd.InitDefaultHelpFlag()
	cmd.InitDefaultVersionFlag()
	return cmd.Help()
}

func (a *app) helpWiring(dir string) error {
	if err := wiring.Text(a.out); err != nil || dir == "" {
		return err
	}
	return a.drawWirings(dir)
}
