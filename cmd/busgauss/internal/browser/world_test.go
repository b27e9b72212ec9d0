package browser

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"busgauss/cmd/busgauss/internal/cli"
	"busgauss/fixtures"
)

// required is what BUSGAUSS_BROWSER says where a missing browser is a failure.
const required = "required"

// patience bounds one page; a browser that hangs must not hang the tests.
const patience = 90 * time.Second

// program is the browser of all tests; each test opens tabs of its own.
var program struct {
	ctx context.Context
	err error
}

func TestMain(m *testing.M) {
	os.Exit(withBrowser(m))
}

func withBrowser(m *testing.M) int {
	path, err := exec.LookPath("chromium")
	if err != nil { // the same engine under the name that some machines of hosts have
		path, err = exec.LookPath("google-chrome")
	}
	if err != nil {
		program.err = err
		return m.Run()
	}
	profile, err := os.MkdirTemp("", "busgauss-browser-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(profile)
	alloc, stop := chromedp.NewExecAllocator(context.Background(),
		chromedp.ExecPath(path), chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
		chromedp.UserDataDir(profile), chromedp.WindowSize(1100, 900),
		chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.Flag("force-color-profile", "srgb"),
	)
	defer stop()
	ctx, quit := chromedp.NewContext(alloc)
	defer quit()
	program.ctx, program.err = ctx, chromedp.Do(ctx)
	return m.Run()
}

// need skips a test where there is no browser, or fails it where one is required.
func need(t *testing.T) {
	t.Helper()
	if program.err == nil {
		return
	}
	if os.Getenv("BUSGAUSS_BROWSER") == required || program.ctx != nil {
		t.Fatalf("no browser: %v", program.err)
	}
	t.Skipf("no browser: %v", program.err)
}

// said is what one run of busgauss printed and its status.
type said struct {
	status   int
	out, err string
}

// call runs busgauss in dir, with no environment and no terminal.
func call(dir string, args ...string) said {
	var out, errs bytes.Buffer
	status := cli.Main(args, cli.Streams{
		In: strings.NewReader(""), Out: &out, Err: &errs, Env: func(string) string { return "" }, Dir: dir,
	})
	return said{status, out.String(), errs.String()}
}

// sample is a fixture whose page is opened.
type sample struct {
	name    string // in fixtures
	precise bool   // computed as finely as field and coupling do
}

// The samples: bars alone, iron that saturates, bars with bends and cuts in space.
var (
	bare    = sample{"clean/ferry-thruster.yaml", true}
	iron    = sample{"failing/winch-channels.yaml", true}
	bent    = sample{"clean/winch-bends.yaml", false}
	samples = []sample{bare, iron, bent}
)

var made = struct {
	sync.Mutex
	pages map[string]func() (string, error)
}{pages: map[string]func() (string, error){}}

// pageOf returns the page of a sample, which is made once.
func pageOf(t *testing.T, s sample) string {
	t.Helper()
	made.Lock()
	once := made.pages[s.name]
	if once == nil {
		once = sync.OnceValues(func() (string, error) {
			args := []string{"report", "--quiet", layoutName}
			if s.precise {
				args = append(args, "--precise")
			}
			dir, err := os.MkdirTemp("", "busgauss-page-")
			if err != nil {
				return "", err
			}
			defer os.RemoveAll(dir)
			if err := os.WriteFile(filepath.Join(dir, layoutName), []byte(source(s.name)), 0o644); err != nil {
				return "", err
			}
			got := call(dir, args...)
			if got.status != 0 {
				return "", fmt.Errorf("%s: status %d: %s", s.name, got.status, got.err)
			}
			return got.out, nil
		})
		made.pages[s.name] = once
	}
	made.Unlock()
	html, err := once()
	if err != nil {
		t.Fatal(err)
	}
	return html
}

// layoutName is what the layout of a page is called.
const layoutName = "layout.yaml"

// source returns the text of a fixture.
func source(name string) string {
	data, err := fixtures.FS.ReadFile(name)
	if err != nil {
		panic(err)
	}
	return string(data)
}

// tab is a page in a tab of its own, and what the browser told of it.
type tab struct {
	ctx context.Context
	url string

	mu       sync.Mutex
	requests []string // addresses asked for
	troubles []string // errors and warnings of the console, exceptions
	dialogs  []string
}

// hear takes the events of the tab.
func (b *tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	case *runtime.EventConsoleAPICalled:
		b.troubles = append(b.troubles, "console."+string(e.Type))
	case *runtime.EventExceptionThrown:
		b.troubles = append(b.troubles, "exception: "+e.ExceptionDetails.Text)
	case *log.EventEntryAdded:
		b.troubles = append(b.troubles, string(e.Entry.Level)+": "+e.Entry.Text)
	case *page.EventJavascriptDialogOpening:
		b.dialogs = append(b.dialogs, e.Message)
	}
}

// heard returns what the tab was told so far.
func (b *tab) heard() (requests, troubles, dialogs []string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return append(requests, b.requests...), append(troubles, b.troubles...), append(dialogs, b.dialogs...)
}

// open shows html in a new tab of 1100 by 900 pixels, after the steps before it.
func open(t *testing.T, html string, before ...chromedp.Action[chromedp.Void]) *tab {
	t.Helper()
	path := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(path, []byte(html), 0o644); err != nil {
		t.Fatal(err)
	}
	b := &tab{url: (&url.URL{Scheme: "file", Path: filepath.ToSlash(path)}).String()}
	ctx, closeTab := chromedp.NewContext(program.ctx, chromedp.WithListener(b.hear))
	t.Cleanup(closeTab)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(ctx, patience)
	t.Cleanup(cancel)
	b.ctx = ctx
	watch := chromedp.Func(func(ctx context.Context, to *chromedp.Target) error {
		if _, err := cdp.Call(ctx, to, network.Enable, network.EnableParams{}); err != nil {
			return err
		}
		_, err := cdp.Call(ctx, to, log.Enable, cdp.Empty{})
		return err
	})
	b.do(t, append([]chromedp.Action[chromedp.Void]{watch}, before...)...)
	b.do(t, chromedp.Navigate(b.url))
	return b
}

func (b *tab) do(t *testing.T, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// eval returns the value of an expression in the page.
func eval[T any](t *testing.T, b *tab, expression string) T {
	t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// unfold opens every part of the page that is folded.
func unfold(t *testing.T, b *tab) {
	t.Helper()
	if eval[int](t, b, `document.querySelectorAll("details").forEach(function (d) { d.open = true; }), document.querySelectorAll("details").length`) == 0 {
		t.Error("nothing to unfold")
	}
}

// media emulates a medium ("print", or empty for the screen) and a colour scheme.
func media(medium, scheme string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, to *chromedp.Target) error {
		_, err := cdp.Call(ctx, to, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Media: medium, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
		})
		return err
	})
}

// script allows or forbids the page to run script.
func script(allowed bool) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, to *chromedp.Target) error {
		_, err := cdp.Call(ctx, to, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !allowed})
		return err
	})
}

// each runs a test on the page of every sample.
func each(t *testing.T, test func(t *testing.T, s sample, html string)) {
	need(t)
	for _, s := range samples {
		t.Run(strings.TrimSuffix(filepath.Base(s.name), ".yaml"), func(t *testing.T) { test(t, s, pageOf(t, s)) })
	}
}
