package clitest

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"sync"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"example.org/wheatear/cmd/wheatear/internal/schemas"
)

// Conforms checks a document against the schema that is published under the name
// that it gives itself, and what a schema cannot say: that every quantity lies within its
// interval, and that the documents within it conform likewise.
func Conforms(doc map[string]any) error {
	name, _ := doc["schema"].(string)
	schema, err := compiled(name)
	if err != nil {
		return err
	}
	if err := schema.Validate(doc); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if err := ordered("", doc); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if result, ok := doc["result"].(map[string]any); ok {
		return Conforms(result)
	}
	return nil
}

// ConformsText checks a text that must be one document and nothing else.
func ConformsText(text []byte) error {
	dec := json.NewDecoder(bytes.NewReader(text))
	var doc map[string]any
	if err := dec.Decode(&doc); err != nil {
		return err
	}
	if dec.More() {
		return errors.New("something follows the document")
	}
	return Conforms(doc)
}

// Those that have been asked for, each compiled once.
var (
	lock  sync.Mutex
	known = map[string]*jsonschema.Schema{}
)

func compiled(name string) (*jsonschema.Schema, error) {
	lock.Lock()
	defer lock.Unlock()
	if s := known[name]; s != nil {
		return s, nil
	}
	text, ok, err := schemas.Document(name)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, fmt.Errorf("schema %q is none of ours", name)
	}
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	if err != nil {
		return nil, fmt.Errorf("schema %q: %w", name, err)
	}
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	id := doc.(map[string]any)["$id"].(string) // a published schema has one: see its own test
	if err := c.AddResource(id, doc); err != nil {
		return nil, fmt.Errorf("schema %q: %w", name, err)
	}
	s, err := c.Compile(id)
	if err == nil {
		known[name] = s
	}
	return s, err
}

// ordered holds every object with the keys of a quantity to low <= value <= high.
func ordered(at string, v any) error {
	switch v := v.(type) {
	case []any:
		for i, x := range v {
			if err := ordered(fmt.Sprintf("%s.%d", at, i), x); err != nil {
				return err
			}
		}
	case map[string]any:
		if !inOrder(v) {
			return fmt.Errorf("%s: %v is outside its interval %v to %v", at, v["value"], v["low"], v["high"])
		}
		for key, x := range v {
			if err := ordered(at+"."+key, x); err != nil {
				return err
			}
		}
	}
	return nil
}

func inOrder(q map[string]any) bool {
	at := func(key string, missing float64) float64 {
		if f, ok := q[key].(float64); ok {
			return f
		}
		return missing
	}
	low, high := at("low", math.Inf(-1)), at("high", math.Inf(1))
	value := at("value", math.Max(low, math.Min(high, 0)))
	return low <= high && low <= value && value <= high
}
