//go:build devices && cgo && !unix

package sound

// hush does nothing: the libraries write to standard error on Unix only.
func hush() func() string { return func() string { return "" } }
