package report

// palette paints words for a terminal. Only the terminal's own 16 colours are used, so they fit its background.
type palette struct {
	asSung, look, strong func(string) string
}

// painter makes the palette; without colour every word stays as it is.
func painter(colour bool) palette {
	if !colour {
		return palette{asSung: plain, look: plain, strong: plain}
	}
	return palette{asSung: escaped("36"), look: escaped("33"), strong: escaped("1")} // cyan, yellow, bold (ECMA-48 SGR)
}

func escaped(code string) func(string) string {
	return func(text string) string {
		if text == "" {
			return text
		}
		return "\x1b[" + code + "m" + text + "\x1b[0m"
	}
}

func plain(text string) string { return text }
