package uncertain

import (
	"encoding/json"
	"math"
)

// Quantity is a value with its standard uncertainty and its 95 % interval, in
// one unit. NaN in Value is a value that does not exist; Low = −Inf or
// High = +Inf is a side without a bound. The zero Quantity is an exact 0, not an
// absent one: see Absent.
type Quantity struct {
	Value, U  float64
	Low, High float64
}

// Absent returns the quantity that does not exist: all NaN.
func Absent() Quantity {
	nan := math.NaN()
	return Quantity{Value: nan, U: nan, Low: nan, High: nan}
}

// NormalQuantity returns a normal quantity with the 95 % interval that belongs
// to dof degrees of freedom of u (0 or +Inf: u is known).
func NormalQuantity(value, u, dof float64) Quantity {
	half := CoverageFactor(0.95, dof) * u
	return Quantity{Value: value, U: u, Low: value - half, High: value + half}
}

// IsAbsent reports whether nothing at all is known: neither value nor bound.
func (q Quantity) IsAbsent() bool {
	return !finite(q.Value) && !finite(q.U) && !finite(q.Low) && !finite(q.High)
}

// jsonQuantity is the contract's object; nil is null.
type jsonQuantity struct {
	Value *float64 `json:"value"`
	U     *float64 `json:"u"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

// MarshalJSON writes {"value","u","low","high"} with null for what is NaN or
// infinite, and null alone for an absent quantity.
func (q Quantity) MarshalJSON() ([]byte, error) {
	if q.IsAbsent() {
		return []byte("null"), nil
	}
	return json.Marshal(jsonQuantity{orNull(q.Value), orNull(q.U), orNull(q.Low), orNull(q.High)})
}

// UnmarshalJSON is the inverse of MarshalJSON. A bound that is null is none
// (infinite) where anything else is known.
func (q *Quantity) UnmarshalJSON(data []byte) error {
	var in jsonQuantity
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	if in == (jsonQuantity{}) {
		*q = Absent()
		return nil
	}
	*q = Quantity{orElse(in.Value, math.NaN()), orElse(in.U, math.NaN()), orElse(in.Low, math.Inf(-1)), orElse(in.High, math.Inf(1))}
	return nil
}

func orNull(v float64) *float64 {
	if !finite(v) {
		return nil
	}
	return &v
}

func orElse(v *float64, other float64) float64 {
	if v == nil {
		return other
	}
	return *v
}
