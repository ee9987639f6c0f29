package journal

import (
	"encoding/json"
	"fmt"
	"path"
)

// record is all rows of one round. It is what is inserted into the database, read back from it, and written as
// round.json.
type record struct {
	UID         string `json:"uid"`
	AtMs        int64  `json:"at_ms"`
	ZoneMinutes int    `json:"zone_minutes"`
	Sang        string `json:"sang"`
	Played      string `json:"played"`
	Instrument  string `json:"instrument"`
	Folder      string `json:"folder,omitempty"`
	Recording   string `json:"recording,omitempty"`
	DeletedMs   *int64 `json:"deleted_ms,omitempty"`
	done
	judged
	Files      []file      `json:"files"`
	Judgements []judgement `json:"judgements"` // the oldest first
}

// judged is what a judgement gives, and judging again replaces.
type judged struct {
	Key           string   `json:"key"`
	KeyGuessed    bool     `json:"key_guessed"`
	Numbering     string   `json:"numbering"`
	Chart         *string  `json:"chart"`
	Tempo         *float64 `json:"tempo"`
	LoopStarts    *float64 `json:"loop_starts"`
	AnswerStarts  *float64 `json:"answer_starts"`
	SamePhrase    *bool    `json:"same_phrase"`
	CentreChange  *float64 `json:"centre_change_cents"`
	SpreadChange  *float64 `json:"spread_change_cents"`
	Octaves       int      `json:"octaves"`
	Transposition int      `json:"transposition"`
	TuningShift   int      `json:"tuning_shift"`
	VoiceCents    float64  `json:"voice_cents"`
	TempoRatio    float64  `json:"tempo_ratio"`
	Response      *float64 `json:"response"`
	counts
	Takes    []take       `json:"takes"`
	Answer   []answerNote `json:"answer"`
	Evidence []evidence   `json:"evidence"`
	Links    []link       `json:"links,omitempty"`
}

// counts are the label and how many notes have each verdict.
type counts struct {
	Label     string  `json:"label"`
	Searched  float64 `json:"searched"`
	Same      int     `json:"same"`
	Different int     `json:"different"`
	LeftOut   int     `json:"left_out"`
	Unclear   int     `json:"unclear"`
	Added     int     `json:"added"`
}

type take struct {
	Name        string     `json:"name"`
	Written     bool       `json:"written"`
	Duration    float64    `json:"duration"`
	TuningCents float64    `json:"tuning_cents"`
	Clarity     float64    `json:"clarity"`
	CentreCents *float64   `json:"centre_cents"`
	SpreadCents *float64   `json:"spread_cents"`
	Notes       []sungNote `json:"notes"`
}

type sungNote struct {
	Onset       float64  `json:"onset"`
	Offset      float64  `json:"offset"`
	Pitch       float64  `json:"pitch"`
	Semitone    int      `json:"semitone"`
	Degree      string   `json:"degree"`
	Step        *int     `json:"step"`
	CentreCents float64  `json:"centre_cents"`
	SpreadCents float64  `json:"spread_cents"`
	Level       *float64 `json:"level_dbfs"`
	Confidence  float64  `json:"confidence"`
	Unclear     bool     `json:"unclear"`
	Verdict     *string  `json:"verdict"`
	Answered    *int     `json:"answered"`
}

type answerNote struct {
	Onset    float64 `json:"onset"`
	Offset   float64 `json:"offset"`
	Released float64 `json:"released"`
	Key      int     `json:"key"`
	Pitch    float64 `json:"pitch"`
	Degree   string  `json:"degree"`
	Velocity int     `json:"velocity"`
	Channel  int     `json:"channel"`
}

type evidence struct {
	Kind   string  `json:"kind"`
	Onset  float64 `json:"onset"`
	Offset float64 `json:"offset"`
	Target *int    `json:"target"`
	Weight float64 `json:"weight"`
	Text   string  `json:"text"`
	Sung   []int   `json:"sung"`
	Played []int   `json:"played"`
}

// link is one link between voice and fingers.
type link struct {
	Name     string `json:"name"`
	Joined   bool   `json:"joined,omitempty"` // the step between was left out
	Compared int    `json:"compared"`
	Failed   bool   `json:"failed"`
	Notes    []int  `json:"notes,omitempty"` // of the phrase, where it failed
}

type file struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

type judgement struct {
	AtMs    int64  `json:"at_ms"`
	Program string `json:"program"`
	counts
	Document json.RawMessage `json:"document"`
}

// folderOf is where the files of a round lie, below the journal's folder, with slashes.
func folderOf(uid string) (string, error) {
	const month = len("200601")
	if len(uid) < month || path.Base(uid) != uid {
		return "", fmt.Errorf("journal: %q is no name of a round", uid)
	}
	return path.Join(roundsName, uid[:4]+"-"+uid[4:month], uid), nil
}
