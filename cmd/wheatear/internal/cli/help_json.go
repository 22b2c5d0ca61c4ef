package cli

import (
	"example.org/wheatear/cmd/wheatear/internal/schemas"
)

// helpJSON lists the documents of the program, or prints the schema of one of them.
func (a *app) helpJSON(names []string) error {
	switch len(names) {
	case 0:
		list, err := schemas.All()
		if err != nil {
			return err
		}
		return listSchemas(a.out, list)
	case 1:
		text, ok, err := schemas.Document(names[0])
		if err != nil {
			return err
		}
		if !ok {
			return usagef("there is no schema %q; wheatear help json lists them", names[0])
		}
		_, err = a.out.Write(text)
		return err
	}
	return usagef("one schema at a time: wheatear help json %s", names[0])
}

// schemaNames are their names, for completion.
func schemaNames() []string {
	list, err := schemas.All()
	if err != nil {
		return nil
	}
	var names []string
	for _, s := range list {
		names = append(names, s.Name)
	}
	return names
}
