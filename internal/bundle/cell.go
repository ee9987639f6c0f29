package bundle

import "strings"

// Cell is a text as it stands in a table for spreadsheets: an apostrophe comes before what would begin a formula there, also behind
// spaces (OWASP, "CSV Injection": = + - @, tab and carriage return; from memory). Zero bytes, at which some readers stop, are left out. Numbers
// below zero are kept.
func Cell(text string) string {
	text = strings.ReplaceAll(text, "\x00", "")
	begin := strings.TrimLeft(text, " ")
	if begin == "" || !strings.ContainsRune("=+-@\t\r\n|%＝＋－＠", []rune(begin)[0]) || isNumber(begin) {
		return text
	}
	return "'" + text
}

// isNumber reports whether a text is a plain decimal number.
func isNumber(text string) bool {
	digits := strings.TrimPrefix(text, "-")
	return digits != "" && strings.Trim(digits, "0123456789.") == "" && strings.Count(digits, ".") <= 1 && digits != "."
}

// Uncell gives the text back that Cell wrote; zero bytes are lost, and an apostrophe of the text's own that stands before a formula.
func Uncell(cell string) string {
	if text, ok := strings.CutPrefix(cell, "'"); ok && Cell(text) == cell {
		return text
	}
	return cell
}
