package cli

import (
	"bytes"
	"fmt"
	"io"

	"example.org/wheatear/cmd/wheatear/internal/render/text"
	"example.org/wheatear/cmd/wheatear/internal/schemas"
)

const schemaAbout = `Every command that prints a result prints it as JSON with --json, and standard output
then holds nothing else. Each document names its form under "schema". What may be in it
is published as a JSON Schema (draft 2020-12), complete in itself:
wheatear help json NAME > NAME.json.`

const schemaRules = `Units are SI; the unit is the end of a key. A quantity is an object of value, standard
uncertainty u, and the ends low and high of its 95 % interval, of which null is no
bound. What does not exist or cannot be trusted is null. Times are those of RFC 3339. The
schema is that of the documents of this very program: a later one may add keys, and
where a key goes or changes its meaning, the number at the end of the name grows. What
the interface of the page answers is in its own description, /api/openapi.json.`

// listSchemas lists the documents that the program prints or keeps.
func listSchemas(w io.Writer, list []schemas.Schema) error {
	var b bytes.Buffer
	text.Wrap(&b, "", schemaAbout)
	fmt.Fprintln(&b)
	longest := 0
	for _, s := range list {
		longest = max(longest, len(s.Name))
	}
	for _, s := range list {
		text.Wrap(&b, fmt.Sprintf("  %-*s  ", longest, s.Name), s.Title)
	}
	fmt.Fprintln(&b)
	text.Wrap(&b, "", schemaRules)
	_, err := w.Write(b.Bytes())
	return err
}
