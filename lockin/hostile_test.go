package lockin_test

import (
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
	"example.org/wheatear/lockin/record"
)

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

// TestHostileListsAreWhole holds the two lists against what the packages export.
func TestHostileListsAreWhole(t *testing.T) {
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
