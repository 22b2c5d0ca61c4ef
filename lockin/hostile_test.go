package lockin_test

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"go/token"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime/debug"
	"slices"
	"strings"
	"testing"

	"example.org/wheatear/lockin"
	"example.org/wheatear/lockin/batch"
	"example.org/wheatear/lockin/circuit"
	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/fixture"
	"example.org/wheatear/lockin/identify"
	"example.org/wheatear/lockin/impedance"
	"example.org/wheatear/lockin/incircuit"
	"example.org/wheatear/lockin/jigcheck"
	"example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/parts"
	"example.org/wheatear/lockin/predict"
	"example.org/wheatear/lockin/record"
	"example.org/wheatear/lockin/spectrum"
	"example.org/wheatear/lockin/spectrum/welch"
	"example.org/wheatear/lockin/stimulus"
	"example.org/wheatear/lockin/touchstone"
	"example.org/wheatear/lockin/uncertain"
)

// Every function of the public packages, by package and name. The list of exported names
// says whether one is missing.
var functions = map[string]any{
	"lockin.Correlate": lockin.Correlate[float64], "lockin.Fit": lockin.Fit[float64], "lockin.Interleaved": lockin.Interleaved[int16],
	"lockin.New": lockin.New[float32], "lockin.Planar": lockin.Planar[float64],
	"batch.Agree":                     batch.Agree,
	"batch.NoneOhm":                   batch.NoneOhm,
	"batch.Occupied":                  batch.Occupied,
	"batch.ParseBins":                 batch.ParseBins,
	"batch.SpreadOf":                  batch.SpreadOf,
	"circuit.Check":                   circuit.Check,
	"circuit.Choose":                  circuit.Choose,
	"circuit.ChooseNear":              circuit.ChooseNear,
	"circuit.Fit":                     circuit.Fit,
	"circuit.Named":                   circuit.Named,
	"circuit.NamedByKey":              circuit.NamedByKey,
	"circuit.Parse":                   circuit.Parse,
	"circuit.Relative":                circuit.Relative,
	"circuit.Solve":                   circuit.Solve,
	"finding.Worst":                   finding.Worst,
	"fixture.Calibrate":               fixture.Calibrate,
	"fixture.Combine":                 fixture.Combine,
	"fixture.Compare":                 fixture.Compare,
	"fixture.JigKeys":                 fixture.JigKeys,
	"fixture.Meanings":                fixture.Meanings,
	"fixture.Measure":                 fixture.Measure,
	"fixture.MeasureUncalibrated":     fixture.MeasureUncalibrated,
	"fixture.NewJig":                  fixture.NewJig,
	"fixture.NewPair":                 fixture.NewPair,
	"fixture.NoiseLabel":              fixture.NoiseLabel,
	"fixture.ParseAround":             fixture.ParseAround,
	"fixture.ParseCalibration":        fixture.ParseCalibration,
	"fixture.ParseChannel":            fixture.ParseChannel,
	"fixture.ParseJig":                fixture.ParseJig,
	"fixture.PartHarmonics":           fixture.PartHarmonics,
	"fixture.Priors":                  fixture.Priors,
	"fixture.StatedKeys":              fixture.StatedKeys,
	"fixture.Stepped":                 fixture.Stepped,
	"fixture.SweepCovariance":         fixture.SweepCovariance,
	"fixture.Verify":                  fixture.Verify,
	"identify.Of":                     identify.Of,
	"impedance.Derive":                impedance.Derive,
	"impedance.Draw":                  impedance.Draw,
	"impedance.ElementIn":             impedance.ElementIn,
	"impedance.ElementOf":             impedance.ElementOf,
	"impedance.KindOf":                impedance.KindOf,
	"impedance.MainOf":                impedance.MainOf,
	"impedance.Of":                    impedance.Of,
	"impedance.ParseElement":          impedance.ParseElement,
	"impedance.Void":                  impedance.Void,
	"incircuit.Ask":                   incircuit.Ask,
	"incircuit.ParseFamilies":         incircuit.ParseFamilies,
	"jigcheck.Examine":                jigcheck.Examine,
	"jigcheck.Ordinary":               jigcheck.Ordinary,
	"jigcheck.ParseStep":              jigcheck.ParseStep,
	"jigcheck.ParseVerified":          jigcheck.ParseVerified,
	"jigcheck.Steps":                  jigcheck.Steps,
	"level.NewPoint":                  level.NewPoint,
	"level.Of":                        level.Of,
	"parts.AcceptanceLimits":          parts.AcceptanceLimits,
	"parts.AllSeries":                 parts.AllSeries,
	"parts.AtLeast":                   parts.AtLeast,
	"parts.AtMost":                    parts.AtMost,
	"parts.CapabilityIndex":           parts.CapabilityIndex,
	"parts.CommaMeant":                parts.CommaMeant,
	"parts.Conditions":                parts.Conditions,
	"parts.ConformanceProbability":    parts.ConformanceProbability,
	"parts.Decode":                    parts.Decode,
	"parts.Encode":                    parts.Encode,
	"parts.Expect":                    parts.Expect,
	"parts.FormatValue":               parts.FormatValue,
	"parts.GuardedLimits":             parts.GuardedLimits,
	"parts.Judge":                     parts.Judge,
	"parts.LargestU":                  parts.LargestU,
	"parts.Likeliest":                 parts.Likeliest,
	"parts.NewDraws":                  parts.NewDraws,
	"parts.NonconformanceProbability": parts.NonconformanceProbability,
	"parts.ParseFrequencies":          parts.ParseFrequencies,
	"parts.ParsePositive":             parts.ParsePositive,
	"parts.ParseSeries":               parts.ParseSeries,
	"parts.ParseSigned":               parts.ParseSigned,
	"parts.ParseTolerance":            parts.ParseTolerance,
	"parts.ParseValue":                parts.ParseValue,
	"parts.Read":                      parts.Read,
	"parts.SeriesOf":                  parts.SeriesOf,
	"parts.Symmetric":                 parts.Symmetric,
	"parts.ToleranceOf":               parts.ToleranceOf,
	"parts.TypeOf":                    parts.TypeOf,
	"parts.Types":                     parts.Types,
	"parts.Words":                     parts.Words,
	"predict.HalfWidth":               predict.HalfWidth,
	"predict.NewPart":                 predict.NewPart,
	"record.Analyze":                  record.Analyze,
	"record.Fit":                      record.Fit,
	"record.NewTracker":               record.NewTracker,
	"spectrum.AmplitudeDB":            spectrum.AmplitudeDB,
	"spectrum.BlackmanHarris":         spectrum.BlackmanHarris,
	"spectrum.FlatTop":                spectrum.FlatTop,
	"spectrum.Hann":                   spectrum.Hann,
	"spectrum.PowerDB":                spectrum.PowerDB,
	"spectrum.Rectangular":            spectrum.Rectangular,
	"welch.Density":                   welch.Density,
	"stimulus.MainsOrder":             stimulus.MainsOrder,
	"stimulus.PeriodicPeak":           stimulus.PeriodicPeak,
	"stimulus.PlanTones":              stimulus.PlanTones,
	"stimulus.UsedSeconds":            stimulus.UsedSeconds,
	"touchstone.Read":                 touchstone.Read,
	"touchstone.Write":                touchstone.Write,
	"uncertain.Absent":                uncertain.Absent,
	"uncertain.AllanCurve":            uncertain.AllanCurve,
	"uncertain.AllanDeviation":        uncertain.AllanDeviation,
	"uncertain.ComplexCoverageFactor": uncertain.ComplexCoverageFactor,
	"uncertain.CoverageFactor":        uncertain.CoverageFactor,
	"uncertain.Format":                uncertain.Format,
	"uncertain.FormatQuantity":        uncertain.FormatQuantity,
	"uncertain.LongestUseful":         uncertain.LongestUseful,
	"uncertain.Mean":                  uncertain.Mean,
	"uncertain.MeanComplex":           uncertain.MeanComplex,
	"uncertain.MeanCov":               uncertain.MeanCov,
	"uncertain.MonteCarlo":            uncertain.MonteCarlo,
	"uncertain.NormalQuantity":        uncertain.NormalQuantity,
	"uncertain.Polar":                 uncertain.Polar,
	"uncertain.Propagate":             uncertain.Propagate,
	"uncertain.PropagateWith":         uncertain.PropagateWith,
	"uncertain.WriteQuantity":         uncertain.WriteQuantity,
}

// Every type with methods.
var withMethods = []reflect.Type{
	reflect.TypeFor[lockin.Config](),
	reflect.TypeFor[lockin.Demodulator[float64]](),
	reflect.TypeFor[lockin.Estimate](),
	reflect.TypeFor[lockin.Flags](),
	reflect.TypeFor[lockin.Frames[float64]](),
	reflect.TypeFor[lockin.Mark](),
	reflect.TypeFor[lockin.Response](),
	reflect.TypeFor[lockin.Result](),
	reflect.TypeFor[batch.Bins](),
	reflect.TypeFor[batch.Presence](),
	reflect.TypeFor[batch.Succession](),
	reflect.TypeFor[circuit.Circuit](),
	reflect.TypeFor[circuit.Consistency](),
	reflect.TypeFor[circuit.Data](),
	reflect.TypeFor[circuit.NamedCircuit](),
	reflect.TypeFor[circuit.Result](),
	reflect.TypeFor[circuit.SyntaxError](),
	reflect.TypeFor[finding.Finding](),
	reflect.TypeFor[fixture.Around](),
	reflect.TypeFor[fixture.Calibration](),
	reflect.TypeFor[fixture.Channel](),
	reflect.TypeFor[fixture.Combination](),
	reflect.TypeFor[fixture.Corrected](),
	reflect.TypeFor[fixture.Difference](),
	reflect.TypeFor[fixture.FileError](),
	reflect.TypeFor[fixture.Jig](),
	reflect.TypeFor[fixture.Judgement](),
	reflect.TypeFor[fixture.Load](),
	reflect.TypeFor[fixture.Pair](),
	reflect.TypeFor[fixture.PairError](),
	reflect.TypeFor[fixture.Point](),
	reflect.TypeFor[fixture.RefusedError](),
	reflect.TypeFor[fixture.Terms](),
	reflect.TypeFor[identify.Family](),
	reflect.TypeFor[impedance.Element](),
	reflect.TypeFor[impedance.Reading](),
	reflect.TypeFor[impedance.Report](),
	reflect.TypeFor[incircuit.Model](),
	reflect.TypeFor[jigcheck.Fault](),
	reflect.TypeFor[jigcheck.Report](),
	reflect.TypeFor[jigcheck.Verified](),
	reflect.TypeFor[parts.Condition](),
	reflect.TypeFor[parts.Draws](),
	reflect.TypeFor[parts.Limits](),
	reflect.TypeFor[parts.Marking](),
	reflect.TypeFor[parts.NewElectrolytic](),
	reflect.TypeFor[parts.Normal](),
	reflect.TypeFor[parts.Series](),
	reflect.TypeFor[parts.SyntaxError](),
	reflect.TypeFor[parts.Tolerance](),
	reflect.TypeFor[parts.Type](),
	reflect.TypeFor[parts.Unit](),
	reflect.TypeFor[predict.Calibrated](),
	reflect.TypeFor[predict.Choice](),
	reflect.TypeFor[predict.Map](),
	reflect.TypeFor[predict.Part](),
	reflect.TypeFor[predict.Setup](),
	reflect.TypeFor[record.Analysis](),
	reflect.TypeFor[record.Signal](),
	reflect.TypeFor[record.Track](),
	reflect.TypeFor[record.TrackedTone](),
	reflect.TypeFor[record.Tracker](),
	reflect.TypeFor[spectrum.Window](),
	reflect.TypeFor[stimulus.PhaseRule](),
	reflect.TypeFor[stimulus.Plan](),
	reflect.TypeFor[stimulus.Stimulus](),
	reflect.TypeFor[touchstone.LineError](),
	reflect.TypeFor[uncertain.Inputs](),
	reflect.TypeFor[uncertain.Quantity](),
	reflect.TypeFor[uncertain.Result](),
	reflect.TypeFor[uncertain.Sample](),
	reflect.TypeFor[uncertain.Shape](),
	reflect.TypeFor[uncertain.Trapezoid](),
}

// Kinds of errors: whoever calls can tell by one of these what was wrong.
var kinds = []error{
	lockin.ErrConfig, lockin.ErrSignal,
	batch.ErrBins, fixture.ErrInput, impedance.ErrConfig, incircuit.ErrQuestion, jigcheck.ErrEvidence, level.ErrPoints, parts.ErrInput, predict.ErrSetup,
	circuit.ErrConfig, circuit.ErrData, circuit.ErrNoFit, circuit.ErrNoNumber, circuit.ErrProblem,
	fixture.ErrForeign, fixture.ErrNewer, fixture.ErrDamaged, fixture.ErrUnknownKey, fixture.ErrMissingKey, fixture.ErrStandards, fixture.ErrReadings, fixture.ErrJig,
	identify.ErrSweep,
	impedance.ErrModel,
	parts.ErrNeverDecided,
	record.ErrSignal, record.ErrTrack,
	welch.ErrSpectrum,
	stimulus.ErrPlan,
	touchstone.ErrVersion, touchstone.ErrPorts, touchstone.ErrOrder, touchstone.ErrOption, touchstone.ErrNumber, touchstone.ErrEmpty,
	uncertain.ErrInput, uncertain.ErrTooFew, uncertain.ErrCovariance, uncertain.ErrOutputs,
}

// errorTypes are those that carry the place or the findings.
var errorTypes = []any{
	new(*parts.SyntaxError), new(*circuit.SyntaxError), new(*fixture.FileError), new(*fixture.PairError), new(*fixture.RefusedError), new(*touchstone.LineError), new(*json.SyntaxError), new(*json.UnmarshalTypeError),
}

func ofExportedKind(err error) bool {
	for _, kind := range kinds {
		if errors.Is(err, kind) {
			return true
		}
	}
	for _, target := range errorTypes {
		if errors.As(err, target) {
			return true
		}
	}
	return false
}

// Panics that are documented: methods that are called for every block or every output, as
// an index into a slice is.
var mayPanic = map[string]string{
	"lockin.Planar":                  "channels of unequal length",
	"lockin.Interleaved":             "a broken frame",
	"lockin.Demodulator.Process":     "not from New, or other channels than it was made for",
	"lockin.Demodulator.ProcessWith": "likewise, or a reference of another length",
	"lockin.Demodulator.Skip":        "not from New, a negative count",
	"lockin.Estimate.Model":          "not from Fit, no such channel",
	"lockin.Result.At":               "no such output",
	"record.Analysis.Model":          "no such channel",
}

// TestHostileArguments puts zero values, nil, short slices, NaN, infinity, negative and
// absurd numbers into every function and method: an error of an exported kind, never
// a panic, never nothing at all without an error.
func TestHostileArguments(t *testing.T) {
	for _, name := range slices.Sorted(maps.Keys(functions)) {
		hostile(t, name, reflect.ValueOf(functions[name]), nil)
	}
	for _, typ := range withMethods {
		pointer := reflect.PointerTo(typ)
		for i := range pointer.NumMethod() {
			m := pointer.Method(i)
			name := typ.String()
			if at := strings.Index(name, "["); at >= 0 {
				name = name[:at]
			}
			hostile(t, name+"."+m.Name, m.Func, pointer)
		}
	}
}

// TestHostileArgumentsReachAll holds the two lists against what the packages export.
func TestHostileArgumentsReachAll(t *testing.T) {
	for _, dir := range publicPackages(t) {
		pkg := document(t, dir)
		for _, f := range pkg.Funcs {
			if token.IsExported(f.Name) && functions[pkg.Name+"."+f.Name] == nil {
				t.Errorf("%s.%s is given no hostile arguments", pkg.Name, f.Name)
			}
		}
		for _, typ := range pkg.Types {
			for _, f := range typ.Funcs {
				if token.IsExported(f.Name) && functions[pkg.Name+"."+f.Name] == nil {
					t.Errorf("%s.%s is given no hostile arguments", pkg.Name, f.Name)
				}
			}
			name := pkg.Name + "." + typ.Name
			listed := slices.ContainsFunc(withMethods, func(have reflect.Type) bool {
				plain, _, _ := strings.Cut(have.String(), "[")
				return plain == name
			})
			if len(typ.Methods) > 0 && !listed && token.IsExported(typ.Name) {
				t.Errorf("the methods of %s are given no hostile arguments", name)
			}
		}
	}
}

// The panics of per-block methods are those that are documented, and say who is at fault.
func TestDocumentedPanics(t *testing.T) {
	mustNew := func(cfg lockin.Config) *lockin.Demodulator[float64] {
		d, err := lockin.New[float64](cfg)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	tone := mustNew(lockin.Config{RateHz: 48000, TonesHz: []float64{1000}})
	external := mustNew(lockin.Config{RateHz: 48000, External: true})
	one, two := lockin.Planar([]float64{1}), lockin.Planar([]float64{1}, []float64{1})
	for name, f := range map[string]func(r *lockin.Result){
		"planar of unequal lengths":     func(*lockin.Result) { lockin.Planar([]float64{1}, []float64{1, 2}) },
		"interleaved of a broken frame": func(*lockin.Result) { lockin.Interleaved([]int16{1, 2, 3}, 2) },
		"interleaved of no channels":    func(*lockin.Result) { lockin.Interleaved([]int16{1}, 0) },
		"Process of a zero value":       func(r *lockin.Result) { new(lockin.Demodulator[float64]).Process(r, one) },
		"Process of two channels":       func(r *lockin.Result) { tone.Process(r, two) },
		"Process without reference":     func(r *lockin.Result) { external.Process(r, one) },
		"ProcessWith of a zero value":   func(r *lockin.Result) { new(lockin.Demodulator[float64]).ProcessWith(r, one, nil) },
		"ProcessWith a short reference": func(r *lockin.Result) { external.ProcessWith(r, one, nil) },
		"ProcessWith beside tones":      func(r *lockin.Result) { tone.ProcessWith(r, one, []complex128{1}) },
		"Skip of a zero value":          func(*lockin.Result) { new(lockin.Demodulator[float64]).Skip(1) },
		"Skip back":                     func(*lockin.Result) { tone.Skip(-1) },
		"no such output":                func(r *lockin.Result) { r.At(0) },
		"model of a zero Estimate":      func(*lockin.Result) { new(lockin.Estimate).Model(make([]float64, 1), 0, 0) },
		"model of no channel":           func(*lockin.Result) { new(record.Analysis).Model(make([]float64, 1), 3, 0) },
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s does not panic", name)
				}
			}()
			f(new(lockin.Result))
		}()
	}
}

func hostile(t *testing.T, name string, f reflect.Value, receiver reflect.Type) {
	if _, documented := mayPanic[name]; documented {
		return
	}
	rng := rand.New(rand.NewPCG(1, 2))
	typ := f.Type()
	reported := map[string]bool{}
	report := func(args []reflect.Value, format string, rest ...any) {
		text := fmt.Sprintf(format, rest...)
		if !reported[text] && len(reported) < 3 {
			reported[text] = true
			t.Errorf("%s(%s): %s", name, shown(args), text)
		}
	}
	for range *hostileDraws {
		args := make([]reflect.Value, typ.NumIn())
		for i := range args {
			in := typ.In(i)
			if i == 0 && in == receiver {
				args[i] = reflect.New(receiver.Elem()) // a zero value; nil is nobody's
				continue
			}
			args[i] = hostileValue(rng, in, 0)
		}
		results, panicked := try(f, args)
		if panicked != nil {
			report(args, "panics: %v", panicked)
			continue
		}
		if len(results) == 0 || typ.Out(typ.NumOut()-1) != reflect.TypeFor[error]() {
			continue
		}
		if err, _ := results[len(results)-1].Interface().(error); err != nil {
			if !ofExportedKind(err) {
				report(args, "the error is of no exported kind: %v", err)
			}
			continue
		}
		for _, r := range results[:len(results)-1] {
			if r.Kind() == reflect.Pointer && r.IsNil() {
				report(args, "returns nil without an error")
			}
		}
	}
}

// hostileDraws is how many sets of arguments each function is given.
var hostileDraws = flag.Int("hostile", 60, "how many sets of hostile arguments each function is given")

func try(f reflect.Value, args []reflect.Value) (results []reflect.Value, panicked any) {
	defer func() {
		if panicked = recover(); panicked != nil {
			panicked = fmt.Sprintf("%v\n%s", panicked, debug.Stack())
		}
	}()
	if f.Type().IsVariadic() {
		return f.CallSlice(args), nil
	}
	return f.Call(args), nil
}

var (
	floats = []float64{0, math.NaN(), math.Inf(1), math.Inf(-1), -1, 1, 1e-300, 1e300, 1000, 48000}
	ints   = []int64{0, -1, 1, 2, 99, math.MaxInt32, math.MaxInt64, math.MinInt64}
	texts  = []string{"", " ", "\x00", "NaN", "1e999", "-1", "100n", "R1 + C1", strings.Repeat("(", 2000), "x"}
)

// hostileValue draws an argument of a type.
func hostileValue(rng *rand.Rand, typ reflect.Type, depth int) reflect.Value {
	v := reflect.New(typ).Elem()
	if depth > 4 || rng.IntN(4) == 0 {
		return v // zero
	}
	switch typ.Kind() {
	case reflect.Float64, reflect.Float32:
		v.SetFloat(floats[rng.IntN(len(floats))])
	case reflect.Complex128:
		v.SetComplex(complex(floats[rng.IntN(len(floats))], floats[rng.IntN(len(floats))]))
	case reflect.Int, reflect.Int64, reflect.Int16, reflect.Int32, reflect.Int8:
		n := ints[rng.IntN(len(ints))]
		if v.OverflowInt(n) {
			n = 99
		}
		v.SetInt(n)
	case reflect.Uint8, reflect.Uint64, reflect.Uint, reflect.Uint32:
		v.SetUint([]uint64{0, 1, 2, 99, 255}[rng.IntN(5)])
	case reflect.Bool:
		v.SetBool(true)
	case reflect.String:
		v.SetString(texts[rng.IntN(len(texts))])
	case reflect.Slice:
		v.Set(reflect.MakeSlice(typ, 0, 0))
		for range rng.IntN(4) {
			v.Set(reflect.Append(v, hostileValue(rng, typ.Elem(), depth+1)))
		}
	case reflect.Array:
		for i := range v.Len() {
			v.Index(i).Set(hostileValue(rng, typ.Elem(), depth+1))
		}
	case reflect.Pointer:
		v.Set(reflect.New(typ.Elem()))
		v.Elem().Set(hostileValue(rng, typ.Elem(), depth+1))
	case reflect.Struct:
		for i := range typ.NumField() {
			if token.IsExported(typ.Field(i).Name) {
				v.Field(i).Set(hostileValue(rng, typ.Field(i).Type, depth+1))
			}
		}
	case reflect.Func:
		v.Set(reflect.MakeFunc(typ, func([]reflect.Value) []reflect.Value {
			out := make([]reflect.Value, typ.NumOut())
			for i := range out {
				out[i] = reflect.Zero(typ.Out(i))
			}
			return out
		}))
	}
	return v
}

// shown writes arguments, but not all of a long one.
func shown(args []reflect.Value) string {
	var out []string
	for _, a := range args {
		text := fmt.Sprintf("%+v", a)
		out = append(out, text[:min(len(text), 120)])
	}
	return strings.Join(out, ", ")
}
