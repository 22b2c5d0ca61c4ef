package result

import (
	"encoding/json"

	"example.org/wheatear/lockin/finding"
	"example.org/wheatear/lockin/level"
	"example.org/wheatear/lockin/uncertain"
)

// Levels is the schema wheatear.level/1: a part at one frequency and several levels, in
// the order in which they were played.
type Levels struct {
	Schema        string              `json:"schema"`
	Jig           string              `json:"jig"`         // name
	Calibration   *string             `json:"calibration"` // file; null for none
	As            string              `json:"as,omitempty"`
	Part          *string             `json:"part"`                     // name; null where none was given
	Quantity      *string             `json:"quantity"`                 // letter of the main quantity; null, as what follows, where too few readings can be trusted
	Unit          *string             `json:"unit"`                     // of the main quantity
	Zero          *uncertain.Quantity `json:"zero"`                     // the main quantity carried to level zero
	Law           *level.Law          `json:"law"`                      // how it changes with level
	Change        *float64            `json:"change"`                   // relative change at the highest level
	ChangeU       *float64            `json:"change_u"`                 // its standard uncertainty
	Used          int                 `json:"used,omitempty"`           // levels that follow the law, from the lowest up
	Onset         Level               `json:"onset"`                    // from which it departs from what it is at the lowest; nulls where it does not, or where levels are relative
	OnsetRelative *Level              `json:"onset_relative,omitempty"` // likewise, re full scale, where levels are relative
	Kind          *level.Kind         `json:"kind"`
	Confidence    *level.Confidence   `json:"confidence"`
	Reasons       []string            `json:"reasons"`
	Readings      []Reading           `json:"readings"`           // one for each level
	Harmonics     [][]Harmonic        `json:"harmonics"`          // of the part, a list for each reading
	Points        []LevelPoint        `json:"points,omitempty"`   // one for each reading
	Relative      bool                `json:"relative,omitempty"` // levels of points are re full scale, since the jig file states no full_scale
	Findings      []finding.Finding   `json:"findings"`
	RestsOn       *Basis              `json:"rests_on,omitempty"`
}

// LevelsSchema is what a Levels says it is.
const LevelsSchema = "wheatear.level/1"

// Harmonic is one that rises in the part.
type Harmonic struct {
	Order    int     `json:"order"`
	Relative float64 `json:"relative"` // re the tone, without what the source brings
	U        float64 `json:"u"`        // standard uncertainty
}

// LevelPoint is the level of one reading.
type LevelPoint struct {
	Level
	Refused string `json:"refused,omitempty"` // why the reading is not used
}

// ReadLevels reads a document of any version. In older ones the levels are with the
// readings.
func ReadLevels(text []byte) (*Levels, error) {
	var l Levels
	if err := json.Unmarshal(text, &l); err != nil {
		return nil, err
	}
	Choose(l.Readings, l.As)
	if len(l.Points) != len(l.Readings) {
		l.Points = nil
		for _, r := range l.Readings {
			l.Points = append(l.Points, LevelPoint{Level: r.Level})
		}
	}
	return &l, nil
}
