package browser

import (
	"bufio"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"
)

// Patience is how long a test waits for one answer of the browser.
const Patience = 60 * time.Second

// names are those under which Chromium is installed.
var names = []string{"chromium", "chromium-browser", "google-chrome", "google-chrome-stable"}

// Tab is an opened page.
type Tab struct {
	t       testing.TB
	out     *os.File // commands
	session string   // of the tab

	mu      sync.Mutex
	next    int
	waiting map[int]chan message
	told    chan struct{} // closed and made anew with each event
	events  []message
	ended   error
}

// message is what the browser and the tests say to each other.
type message struct {
	ID      int             `json:"id,omitempty"`
	Session string          `json:"sessionId,omitempty"`
	Method  string          `json:"method,omitempty"`
	Params  json.RawMessage `json:"params,omitempty"`
	Result  json.RawMessage `json:"result,omitempty"`
	Error   *struct {
		Message string `json:"message"`
	} `json:"error,omitempty"`
}

// Open starts a browser and opens a file in it. Everything ends with the test.
func Open(t testing.TB, path string) *Tab {
	t.Helper()
	program := find(t)
	// 3 and 4 are the pipes of --remote-debugging-pipe. /dev/shm is small in containers, and a browser run by root has no sandbox.
	cmd := exec.Command(program, "--headless", "--remote-debugging-pipe", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
		"--disable-background-networking", "--disable-component-update", "--disable-sync", "--mute-audio", "--autoplay-policy=no-user-gesture-required",
		"--force-color-profile=srgb", "--hide-scrollbars", "--user-data-dir="+t.TempDir(), "about:blank")
	read, theirOut, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	theirIn, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	cmd.ExtraFiles = []*os.File{theirIn, theirOut}
	var said strings.Builder
	cmd.Stderr = &said
	cmd.WaitDelay = Patience
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	theirIn.Close()
	theirOut.Close()
	tab := &Tab{t: t, out: write, waiting: map[int]chan message{}, told: make(chan struct{})}
	go tab.listen(read)
	t.Cleanup(func() {
		tab.close()
		if timer := time.AfterFunc(Patience, func() { cmd.Process.Kill() }); cmd.Wait() != nil && t.Failed() {
			timer.Stop()
			t.Log(said.String())
		}
		write.Close()
	})
	tab.begin(path)
	return tab
}

// find looks for the program.
func find(t testing.TB) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("skipped: no Chromium is installed; \"make test\" installs it")
	return ""
}

// close asks the browser to end; that it is gone already is no fault.
func (tab *Tab) close() {
	tab.mu.Lock()
	defer tab.mu.Unlock()
	line, _ := json.Marshal(message{ID: 1 << 30, Method: "Browser.close"})
	_, _ = tab.out.Write(append(line, 0))
}

// begin opens the tab.
func (tab *Tab) begin(path string) {
	tab.t.Helper()
	var target struct {
		TargetID string `json:"targetId"`
	}
	tab.call("Target.createTarget", map[string]any{"url": "about:blank"}, &target)
	var attached struct {
		SessionID string `json:"sessionId"`
	}
	tab.call("Target.attachToTarget", map[string]any{"targetId": target.TargetID, "flatten": true}, &attached)
	tab.session = attached.SessionID
	for _, domain := range []string{"Page", "Runtime", "Log", "Network"} {
		tab.call(domain+".enable", nil, nil)
	}
	absolute, err := filepath.Abs(path)
	if err != nil {
		tab.t.Fatal(err)
	}
	address := url.URL{Scheme: "file", Path: filepath.ToSlash(absolute)}
	tab.call("Page.navigate", map[string]any{"url": address.String()}, nil)
	tab.await("Page.loadEventFired")
}

// listen takes what the browser says: messages that end with a zero byte.
func (tab *Tab) listen(from *os.File) {
	defer from.Close()
	in := bufio.NewReader(from)
	for {
		line, err := in.ReadBytes(0)
		if err != nil {
			tab.end(fmt.Errorf("the browser has gone: %w", err))
			return
		}
		var m message
		if err := json.Unmarshal(line[:len(line)-1], &m); err != nil {
			tab.end(fmt.Errorf("the browser says what is no JSON: %w", err))
			return
		}
		tab.take(m)
	}
}

func (tab *Tab) end(err error) {
	tab.mu.Lock()
	defer tab.mu.Unlock()
	tab.ended = err
	for _, c := range tab.waiting {
		close(c)
	}
	tab.waiting = nil
	close(tab.told)
	tab.told = make(chan struct{})
}

// take hands an answer to who waits for it, and keeps an event.
func (tab *Tab) take(m message) {
	tab.mu.Lock()
	defer tab.mu.Unlock()
	if m.Method == "" {
		if c := tab.waiting[m.ID]; c != nil {
			c <- m
			delete(tab.waiting, m.ID)
		}
		return
	}
	tab.events = append(tab.events, m)
	close(tab.told)
	tab.told = make(chan struct{})
}

// call asks the browser for something and reads its answer into result.
func (tab *Tab) call(method string, params, result any) {
	tab.t.Helper()
	answer := make(chan message, 1)
	tab.mu.Lock()
	if tab.ended != nil {
		tab.mu.Unlock()
		tab.t.Fatal(tab.ended)
	}
	tab.next++
	m := message{ID: tab.next, Session: tab.session, Method: method}
	if params != nil {
		m.Params, _ = json.Marshal(params)
	}
	line, err := json.Marshal(m)
	if err != nil {
		tab.mu.Unlock()
		tab.t.Fatal(err)
	}
	tab.waiting[m.ID] = answer
	_, err = tab.out.Write(append(line, 0))
	tab.mu.Unlock()
	if err != nil {
		tab.t.Fatal(err)
	}
	select {
	case got, ok := <-answer:
		if !ok {
			tab.t.Fatalf("%s: %v", method, tab.ended)
		}
		if got.Error != nil {
			tab.t.Fatalf("%s: %s", method, got.Error.Message)
		}
		if result != nil {
			if err := json.Unmarshal(got.Result, result); err != nil {
				tab.t.Fatalf("%s: %v", method, err)
			}
		}
	case <-time.After(Patience):
		tab.t.Fatalf("%s: no answer within %v", method, Patience)
	}
}

// await waits for an event that has come or comes.
func (tab *Tab) await(method string) {
	tab.t.Helper()
	limit := time.After(Patience)
	for {
		tab.mu.Lock()
		there := slices.ContainsFunc(tab.events, func(m message) bool { return m.Method == method })
		told, ended := tab.told, tab.ended
		tab.mu.Unlock()
		switch {
		case there:
			return
		case ended != nil:
			tab.t.Fatal(ended)
		}
		select {
		case <-told:
		case <-limit:
			tab.t.Fatalf("%s did not come within %v", method, Patience)
		}
	}
}

// Run runs a script in the page, waits for its promise if it gives one, and reads its value into result, which may be nil.
func (tab *Tab) Run(script string, result any) {
	tab.t.Helper()
	var answer struct {
		Result struct {
			Value json.RawMessage `json:"value"`
		} `json:"result"`
		Exception *struct {
			Text      string `json:"text"`
			Exception struct {
				Description string `json:"description"`
			} `json:"exception"`
		} `json:"exceptionDetails"`
	}
	tab.call("Runtime.evaluate", map[string]any{"expression": script, "awaitPromise": true, "returnByValue": true}, &answer)
	if e := answer.Exception; e != nil {
		tab.t.Fatalf("script: %s %s", e.Text, e.Exception.Description)
	}
	if result == nil || answer.Result.Value == nil {
		return
	}
	if err := json.Unmarshal(answer.Result.Value, result); err != nil {
		tab.t.Fatalf("script: %v of %s", err, answer.Result.Value)
	}
}

// Requests are the addresses that were asked for, but for the file itself and what stands in it.
func (tab *Tab) Requests() []string {
	var list []string
	tab.each("Network.requestWillBeSent", func(params json.RawMessage) {
		var p struct {
			DocumentURL string `json:"documentURL"`
			Request     struct {
				URL string `json:"url"`
			} `json:"request"`
		}
		_ = json.Unmarshal(params, &p) // another shape gives an empty address, which is listed
		if u := p.Request.URL; u != p.DocumentURL && !strings.HasPrefix(u, "data:") {
			list = append(list, u)
		}
	})
	return list
}

// Troubles are the errors and warnings of scripts and of the browser about the page.
func (tab *Tab) Troubles() []string {
	var list []string
	tab.each("Runtime.exceptionThrown", func(params json.RawMessage) { list = append(list, string(params)) })
	tab.each("Log.entryAdded", func(params json.RawMessage) { list = append(list, string(params)) })
	tab.each("Runtime.consoleAPICalled", func(params json.RawMessage) { list = append(list, string(params)) })
	return list
}

func (tab *Tab) each(method string, do func(json.RawMessage)) {
	tab.mu.Lock()
	defer tab.mu.Unlock()
	for _, e := range tab.events {
		if e.Method == method {
			do(e.Params)
		}
	}
}

// Look is how a page is looked at.
type Look struct {
	Width, Height int  // px
	Dark          bool // the system asks for dark
	Print         bool // on paper
	Phone         bool // a small screen that is touched
}

// See looks at the page in this way from now on.
func (tab *Tab) See(l Look) {
	tab.t.Helper()
	media, scheme := "", "light"
	if l.Print {
		media = "print"
	}
	if l.Dark {
		scheme = "dark"
	}
	tab.call("Emulation.setEmulatedMedia", map[string]any{"media": media, "features": []map[string]string{{"name": "prefers-color-scheme", "value": scheme}}}, nil)
	tab.call("Emulation.setDeviceMetricsOverride", map[string]any{"width": l.Width, "height": l.Height, "deviceScaleFactor": 1, "mobile": l.Phone}, nil)
}

// Picture takes a PNG of the whole page, as it is looked at.
func (tab *Tab) Picture() []byte {
	tab.t.Helper()
	return tab.data("Page.captureScreenshot", map[string]any{"captureBeyondViewport": true})
}

// PDF prints the page.
func (tab *Tab) PDF() []byte {
	tab.t.Helper()
	return tab.data("Page.printToPDF", map[string]any{"printBackground": true})
}

func (tab *Tab) data(method string, params any) []byte {
	tab.t.Helper()
	var answer struct {
		Data string `json:"data"`
	}
	tab.call(method, params, &answer)
	data, err := base64.StdEncoding.DecodeString(answer.Data)
	if err != nil {
		tab.t.Fatal(err)
	}
	return data
}
