package html

import "bytes"

// inline cuts a picture down to its svg element, and lets it shrink with the page:
// a file's own declarations have no place inside another document.
func inline(svg []byte) []byte {
	start := bytes.Index(svg, []byte("<svg"))
	end := bytes.LastIndex(svg, []byte("</svg>"))
	if start < 0 || end < start {
		return nil
	}
	return svg[start : end+len("</svg>")]
}
