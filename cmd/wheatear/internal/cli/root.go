package cli

import (
	"runtime/debug"

	"github.com/spf13/cobra"
)

func newRoot(a *app) *cobra.Command {
	root := &cobra.Command{
		Use:   "wheatear",
		Short: "Measure impedance with a sound card",
		Long: `Wheatear measures impedance with a sound card: the card plays tones through a
known resistor and the part, and records the voltages on two inputs. From these
recordings wheatear finds resistance, capacitance or inductance, and says how
far each figure can be trusted.

The usual way: wire the jig (wheatear help wiring), let setup write its jig file
(wheatear help jig), record an open, a short and a known resistor (calibrate),
then the part (measure). Any other player and recorder will do as well: stimulus
writes the tones, and calibrate and measure take the recordings.

Exit status: 0 done; 1 could not, or only partly; 2 usage; 3 done, but at least
one reading is not to be trusted; 4 a verdict other than pass.`,
		Example: `  wheatear calibrate --jig bench.toml --at 1k --load 1k/0.1% --out live.json
  wheatear measure --jig bench.toml --calibration live.json --at 1k --part c100n
  wheatear stimulus --at 1k --out tone.wav
  wheatear calibrate --jig jig.toml --at 1k --open open.wav --short short.wav \
      --load 1k/0.1%=load.wav --out cal.json
  wheatear measure --jig jig.toml --calibration cal.json --at 1k \
      --recording part.wav`,
		Args:          noArgs,
		RunE:          func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
		Version:       version(),
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SetVersionTemplate("wheatear {{.Version}}\n")
	root.SetFlagErrorFunc(func(cmd *cobra.Command, err error) error { return &statusError{Usage, meantFlag(cmd, err)} })
	root.SetUsageTemplate(usageTemplate)
	root.AddCommand(newDemo(a), newDevices(a), newSetup(a), newBench(a), newCalibrate(a), newMeasure(a), newSweep(a), newPlan(a), newSort(a), newServe(a), newLevel(a), newVerify(a), newCompare(a), newIncircuit(a), newIdentify(a), newFit(a), newNotebook(a), newParts(a), newStimulus(a), newDemodulate(a), newSimulate(a))
	root.SetHelpCommand(newHelp(a, root))
	for _, c := range root.Commands() {
		if c.Flags().Lookup("part") != nil {
			_ = c.RegisterFlagCompletionFunc("part", a.completeParts) // there is such a flag
		}
	}
	root.PersistentFlags().BoolVar(&a.noNotebook, "no-notebook", false, "with any command: leave its result out of the notebook")
	return root
}

// noArgs refuses stray words on the command line.
func noArgs(cmd *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	if !cmd.HasParent() {
		cmd.SuggestionsMinimumDistance = nearlyMeant
		return usagef("%q is no command of wheatear%s", args[0], orElse(cmd.SuggestionsFor(args[0])))
	}
	return usagef("%q is not understood: %s takes flags only", args[0], cmd.Name())
}

// version returns what the build knows of itself: version, revision and tags.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(unknown version)"
	}
	text, of := info.Main.Version, map[string]string{}
	for _, s := range info.Settings {
		of[s.Key] = s.Value
	}
	if r := of["vcs.revision"]; r != "" {
		text += ", revision " + r[:min(12, len(r))]
		if of["vcs.modified"] == "true" {
			text += " with changes"
		}
	}
	return text + ", tags " + orDefault(of["-tags"], "none") + ", " + of["GOOS"] + "/" + of["GOARCH"]
}

const usageTemplate = `Usage:{{if .Runnable}}
  {{.UseLine}}{{end}}{{if .HasAvailableSubCommands}}
  {{.CommandPath}} COMMAND{{end}}{{if .HasExample}}

Example:
{{.Example}}{{end}}{{if .HasAvailableSubCommands}}

Commands:{{range .Commands}}{{if (or .IsAvailableCommand (eq .Name "help"))}}
  {{rpad .Name .NamePadding}} {{.Short}}{{end}}{{end}}{{end}}{{if .HasAvailableLocalFlags}}

Flags:
{{.LocalFlags.FlagUsagesWrapped 80 | trimTrailingWhitespaces}}{{end}}
`
