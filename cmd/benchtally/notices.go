package main

import (
	"fmt"
	"io"
	"maps"
	"slices"

	"benchtally/labels"
	"benchtally/static"
)

// printNotices writes whose work is in the program, and their licences.
func printNotices(w io.Writer) error {
	licences, err := static.Licences()
	if err != nil {
		return fmt.Errorf("read the licences: %w", err)
	}
	fmt.Fprintf(w, "\n%s\n\n# DejaVu fonts\n\n%s", static.ThirdParty(), labels.TypefaceLicence())
	for _, name := range slices.Sorted(maps.Keys(licences)) {
		fmt.Fprintf(w, "\n\n# static/%s\n\n%s", name, licences[name])
	}
	return nil
}
