package sightsing

import (
	"cmp"
	"crypto/sha256"
	"slices"
)

// Side is where a clip stands in the split.
type Side string

// The sides. Constants are chosen on Tune; Kept is looked at only for reporting.
const (
	Tune Side = "tune"
	Kept Side = "kept"
)

// family is one singer or recording session, as far as the ids tell, with its clips.
type family struct {
	name  string
	low   bool // men's and low boys' voices: median pitch under MIDI 58
	clips []string
}

// families lists every clip once. Ids at most 7 apart are one family; so is the long run 1201 to 1230 (24 clips of one register and
// one recording level), and so are the two men of the man* clips, who sing the same songs in the same room.
var families = []family{
	{"313", false, []string{"313"}},
	{"335", false, []string{"335"}},
	{"364-366", false, []string{"364", "366"}},
	{"406-410", true, []string{"406", "407", "408", "410"}},
	{"424-427", false, []string{"424", "427"}},
	{"480", true, []string{"480"}},
	{"1011", true, []string{"1011"}},
	{"1072-1079", true, []string{"1072", "1075", "1078", "1079"}},
	{"1099-1101", false, []string{"1099", "1100", "1101"}},
	{"1130", false, []string{"1130"}},
	{"1150-1156", false, []string{"1150", "1155", "1156"}},
	{"1174-1189", false, []string{"1174", "1188", "1189"}},
	{"1194-1198", false, []string{"1194", "1196", "1197", "1198"}},
	{"1201-1230", false, []string{"1201", "1202", "1203", "1205", "1206", "1207", "1208", "1210", "1211", "1212", "1213", "1214",
		"1216", "1217", "1218", "1219", "1220", "1221", "1222", "1223", "1224", "1227", "1228", "1230"}},
	{"1252", true, []string{"1252"}},
	{"1307-1315", false, []string{"1307", "1311", "1315"}},
	{"1344", false, []string{"1344"}},
	{"1355", false, []string{"1355"}},
	{"3221", false, []string{"3221"}},
	{"4193", false, []string{"4193"}},
	{"4380", false, []string{"4380"}},
	{"man", true, []string{"man1_butterfly", "man1_schoolbell", "man1_twinkle", "man2_schoolbell"}},
}

// keptFamilies is the outcome of keptByRule, written down so that nobody has to run it; a test holds the two together.
var keptFamilies = []string{"1011", "1130", "1150-1156", "1174-1189", "1344", "1355", "313", "3221", "335", "364-366", "406-410", "424-427", "4380"}

// keptByRule makes the split: low and other voices apart, so that both sides have both; families in order of the SHA-256 sum of their
// name; each family that still fits goes to the kept side until a third of the clips is there.
func keptByRule() []string {
	var kept []string
	for _, low := range []bool{true, false} {
		var group []family
		clips := 0
		for _, f := range families {
			if f.low == low {
				group = append(group, f)
				clips += len(f.clips)
			}
		}
		slices.SortFunc(group, func(a, b family) int {
			x, y := sha256.Sum256([]byte(a.name)), sha256.Sum256([]byte(b.name))
			return slices.Compare(x[:], y[:])
		})
		left := clips / 3
		for _, f := range group {
			if len(f.clips) <= left {
				kept = append(kept, f.name)
				left -= len(f.clips)
			}
		}
	}
	slices.SortFunc(kept, cmp.Compare[string])
	return kept
}

// FamilyOf names the family of a clip, "" where the id is not known.
func FamilyOf(id string) string {
	for _, f := range families {
		if slices.Contains(f.clips, id) {
			return f.name
		}
	}
	return ""
}

// SideOf says where a clip stands. An id that is not known goes to Tune, so that nothing new can leak into the kept side.
func SideOf(id string) Side {
	if slices.Contains(keptFamilies, FamilyOf(id)) {
		return Kept
	}
	return Tune
}
