package web_test

import (
	"net/http"
	"strings"
	"testing"

	"threshday/internal/web"
)

func TestOnlyThisComputerByItsOwnNameIsAnswered(t *testing.T) {
	s := begun(t)
	for host, answered := range map[string]bool{
		"127.0.0.1:7080": true, "localhost:7080": true, "LOCALHOST": true, "[::1]:7080": true, "127.0.0.2": true,
		"farm.example": false, "farm.example:7080": false, "127.0.0.1.evil.example": false, "192.168.1.20:7080": false, "0.0.0.0:7080": false, "localhost.evil.example": false,
		"10.0.0.1": false, "[2001:db8::1]:7080": false,
	} {
		for _, path := range []string{"/", "/api/snapshot", "/print/loads"} {
			g := s.ask("GET", path, "", func(r *http.Request) { r.Host = host })
			if answered && g.status == http.StatusForbidden {
				t.Errorf("%s at %s is refused: %s", path, host, g.body)
			}
			if !answered {
				g.refused(t, 403, "host")
			}
		}
	}
}

func TestNothingOfAnotherSiteIsTaken(t *testing.T) {
	s := begun(t)
	before := s.snapshot().Head
	for _, change := range []map[string]string{
		{"Origin": "https://evil.example"},
		{"Origin": "null"},
		{"Origin": "http://127.0.0.1:1"},
		{"Sec-Fetch-Site": "cross-site"},
		{"Sec-Fetch-Site": "same-site"},
		{"Sec-Fetch-Site": "cross-site", "Origin": "http://localhost"},
	} {
		for _, at := range []struct{ method, path, body string }{
			{"POST", "/api/commands", commands(command(1, "reading", `{"field":"creek-80","moisture":"14","device":"meter"}`))},
			{"POST", "/api/plan", "{}"},
			{"DELETE", "/api/plan", ""},
			{"POST", "/api/start", firstSteps},
		} {
			s.ask(at.method, at.path, at.body, func(r *http.Request) {
				for k, v := range change {
					r.Header.Set(k, v)
				}
			}).refused(t, 403, "cross-origin")
		}
	}
	if after := s.snapshot().Head; after != before {
		t.Errorf("the book moved from %v to %v", before, after)
	}
}

func TestEveryAnswerSaysWhatPagesMayDo(t *testing.T) {
	s := begun(t)
	for _, path := range []string{"/", "/api/snapshot", "/api/nothing", "/print/loads", "/print/print.css"} {
		g := s.ask("GET", path, "")
		csp := g.head.Get("Content-Security-Policy")
		if !strings.Contains(csp, "default-src 'self'") || strings.Contains(csp, "unsafe-inline") || g.head.Get("X-Content-Type-Options") != "nosniff" || g.head.Get("Referrer-Policy") != "no-referrer" {
			t.Errorf("%s: %v", path, g.head)
		}
		if strings.HasPrefix(path, "/api/") && g.head.Get("Cache-Control") != "no-store" {
			t.Errorf("%s may be kept by a browser: %q", path, g.head.Get("Cache-Control"))
		}
	}
}

func TestWhatIsNoQuestionIsRefused(t *testing.T) {
	s := begun(t)
	deep := strings.Repeat("[", 20) + strings.Repeat("]", 20)
	for _, c := range []struct {
		method, path, body string
		status             int
		rule               string
	}{
		{"GET", "/api/nothing", "", 404, "page.unknown"},
		{"GET", "/no-such-file.js", "", 404, "page.unknown"},
		{"POST", "/api/snapshot", "{}", 405, "method"},
		{"PUT", "/api/commands", "{}", 405, "method"},
		{"POST", "/", "{}", 405, "method"},
		{"GET", "/api/fields/creek-80/outlook", "", 409, "plan.none"},
		{"GET", "/api/outlets", "", 409, "plan.none"},
		{"GET", "/api/sources/nothing", "", 404, "source.unknown"},
		{"GET", "/api/entries/" + idOf(9) + "/history", "", 404, "entry.unknown"},
		{"GET", "/api/loads?limit=0", "", 400, "question.limit"},
		{"GET", "/api/loads?from=yesterday", "", 400, "question.from"},
		{"GET", "/api/loads?colour=red", "", 400, "question.colour"},
		{"POST", "/api/commands", `{"commands":[]}`, 400, "commands.count"},
		{"POST", "/api/commands", `{"commands":`, 400, "request.json"},
		{"POST", "/api/commands", `{"commands":[]}{"commands":[]}`, 400, "request.json"},
		{"POST", "/api/commands", `{"command":[]}`, 400, "request.json"},
		{"POST", "/api/commands", `[1]`, 400, "request.json"},
		{"POST", "/api/commands", `{"commands":` + deep + `}`, 400, "request.json"},
		{"POST", "/api/commands", `{"commands":"` + strings.Repeat("x", 300<<10) + `"}`, 413, "request.size"},
		{"POST", "/api/plan", `{"seed":"` + strings.Repeat("1", 70<<10) + `"}`, 413, "request.size"},
		{"POST", "/api/plan", `{"seed":-1}`, 400, "request.json"},
		{"POST", "/api/start", strings.Replace(firstSteps, "c9e1", "c9e2", 1), 409, "farm.there"},
	} {
		t.Run(c.method+" "+c.path+" "+c.rule, func(t *testing.T) { s.ask(c.method, c.path, c.body).refused(t, c.status, c.rule) })
	}
	s.ask("POST", "/api/plan", "{}", func(r *http.Request) { r.Header.Set("Content-Type", "text/plain") }).refused(t, 415, "request.type")
	many := make([]string, 101)
	for i := range many {
		many[i] = command(i, "reading", `{}`)
	}
	s.ask("POST", "/api/commands", commands(many...)).refused(t, 400, "commands.count")
}

func TestWithNoFarmEverythingOpensAndNothingIsInvented(t *testing.T) {
	s := open(t, "")
	if got := s.snapshot(); got.Farm != nil || len(got.Fields) != 0 || got.Plan != nil || got.Head.Seq != 0 {
		t.Errorf("%+v", got)
	}
	s.ask("POST", "/api/plan", "{}").refused(t, 409, "farm.none")
	s.ask("GET", "/api/season", "").refused(t, 409, "farm.none")
	s.ask("POST", "/api/commands", commands(command(1, "reading", `{"field":"a","moisture":"14","device":"meter"}`))).refused(t, 409, "farm.none")
	for _, path := range []string{"/", "/print/day-sheet", "/print/loads", "/fields/creek-80"} {
		if g := s.ask("GET", path, ""); g.status != 200 || !strings.Contains(string(g.body), "<title>") {
			t.Errorf("%s: %d %.80s", path, g.status, g.body)
		}
	}
}

func TestOnlyLoopbackIsListenedOn(t *testing.T) {
	for text, takes := range map[string]bool{
		"127.0.0.1:7080": true, "localhost:0": true, "[::1]:7080": true, "127.5.5.5:80": true,
		"0.0.0.0:7080": false, ":7080": false, "192.168.1.2:7080": false, "farm.example:7080": false, "[::]:7080": false, "127.0.0.1": false, "127.0.0.1:http": false, "127.0.0.1:70800": false,
	} {
		if _, err := web.Address(text); (err == nil) != takes {
			t.Errorf("%s: %v", text, err)
		}
	}
}
