package cli

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// bytesFlag is an amount of bytes; 0 stands for no limit.
type bytesFlag int64

// sizes are the units of bytes: thousands, as disks are sold.
var sizes = []struct {
	name  string
	bytes float64
}{{"TB", 1e12}, {"GB", 1e9}, {"MB", 1e6}, {"kB", 1e3}}

func (s *bytesFlag) Type() string { return "SIZE" }

func (s *bytesFlag) String() string {
	if *s == 0 {
		return "all"
	}
	for _, u := range sizes {
		if float64(*s) >= u.bytes {
			return strconv.FormatFloat(float64(*s)/u.bytes, 'g', -1, 64) + u.name
		}
	}
	return strconv.FormatInt(int64(*s), 10) + "B"
}

// sizeText takes a size apart.
var sizeText = regexp.MustCompile(`^([0-9]+(?:\.[0-9]+)?) ?([kKMGT]?)B$`)

func (s *bytesFlag) Set(text string) error {
	if text == "all" {
		*s = 0
		return nil
	}
	m := sizeText.FindStringSubmatch(strings.TrimSpace(text))
	if m == nil {
		return fmt.Errorf("%q is no size; write it as 500MB or 10GB, or all for no limit", text)
	}
	v, err := strconv.ParseFloat(m[1], 64)
	for _, u := range sizes {
		if m[2] != "" && strings.EqualFold(m[2], u.name[:1]) {
			v *= u.bytes
		}
	}
	if err != nil || !(v >= 1) || v >= math.MaxInt64 {
		return fmt.Errorf("%q is no size from 1B to 9000000TB; all stands for no limit", text)
	}
	*s = bytesFlag(v)
	return nil
}
