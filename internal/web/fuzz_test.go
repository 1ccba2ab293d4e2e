package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
)

// FuzzCommands hands in whatever bytes: nothing breaks; what is answered as taken is in the book, once, and what is not left
// nothing there; sent again it changes nothing; and the pages can be shown of whatever the book holds now.
func FuzzCommands(f *testing.F) {
	for i, c := range []struct{ kind, body string }{
		{"reading", `{"field":"creek-80","moisture":"14,6","device":"meter","at":"2031-09-16 06:00","spots":"4","note":"x"}`},
		{"stage", `{"field":"creek-80","stage":"R7","plants":"60","on":"2031-09-14"}`},
		{"bid", `{"outlet":"ossing-elevator","crop":"soybean","futures":"$10.42","basis":"-85c","until":"2031-10-31"}`},
		{"forecast", `{"on":"2031-09-18","high":"27 C","low":"12 C","rain":"40","amount":"light","when":"night"}`},
		{"load", `{"ticket":"4711","outlet":"ossing-elevator","field":["creek-80=60%","home-quarter=40%"],"gross":"35590 kg","tare":"12330 kg","moisture":"13.8","fm":"1.2"}`},
		{"cheque", `{"number":"1","outlet":"ossing-elevator","on":"2031-09-20","total":"$10.00","lines":[{"ticket":"4711","amount":"$4"},{"amount":"6"}]}`},
		{"sheet", `{"outlet":"ossing-elevator","ticket":"4711","net":"$8,224.66","lines":[{"name":"moisture","lb":"-410"}]}`},
		{"correct", `{"of":"` + idOf(2) + `","why":"misread","change":{"moisture":"13.1"}}`},
		{"void", `{"of":"` + idOf(2) + `","why":"wrong"}`},
		{"keep", `{"of":"` + idOf(2) + `","why":"right"}`},
		{"merge", `{"of":"` + idOf(2) + `","into":"` + idOf(3) + `","why":"same"}`},
		{"undo", `{"of":"` + idOf(4) + `","why":"back"}`},
		{"settings", `{"limits":{"soybean":"14"},"work_from":"07:30","days_off":["sun"],"season_end":"2031-11-20"}`},
		{"schedule", fmt.Sprintf(newSchedule, "1")},
		{"season", `{"text":"[farm]\nid = \"north-farm\"\n"}`},
		{"reading", `{"field":1e999,"moisture":[[]],"device":null}`},
	} {
		f.Add([]byte(commands(command(i, c.kind, c.body))))
	}
	f.Add([]byte(commands(command(900, "load", ticket), command(901, "load", ticket), command(900, "void", `{}`))))
	f.Add([]byte(`{"commands":[{"id":"\ud800","body":` + strings.Repeat(`{"a":`, 30)))
	s := begun(f)
	handler := s.server.Handler()
	ask := func(method, path, body string) *httptest.ResponseRecorder {
		r := httptest.NewRequest(method, path, strings.NewReader(body))
		r.Host = "127.0.0.1:7080"
		r.Header.Set("Content-Type", "application/json")
		w := httptest.NewRecorder()
		handler.ServeHTTP(w, r)
		return w
	}
	head := func(t *testing.T) int64 {
		w := ask("GET", "/api/snapshot", "")
		var doc snapshot
		if w.Code != http.StatusOK || json.Unmarshal(w.Body.Bytes(), &doc) != nil {
			t.Fatalf("no snapshot any more: %d %.300s", w.Code, w.Body)
		}
		return doc.Head.Seq
	}
	f.Fuzz(func(t *testing.T, sent []byte) {
		before := head(t)
		for again := range 2 {
			w := ask("POST", "/api/commands", string(sent))
			if w.Code >= http.StatusInternalServerError || !json.Valid(w.Body.Bytes()) {
				t.Fatalf("%d %s\nto %s", w.Code, w.Body, sent)
			}
			var got struct{ Answers []entered }
			_ = json.Unmarshal(w.Body.Bytes(), &got) // of a refusal it stays empty
			taken := int64(0)
			for _, a := range got.Answers {
				switch {
				case (a.Status == "new" || a.Status == "doubt" && a.Seq > before) && again == 0:
					taken++
				case a.Status == "new":
					t.Errorf("sent again it is new: %s", sent)
				case a.Status == "refused" && (a.Error == nil || a.Error.Say == ""):
					t.Errorf("refused without a word: %s", w.Body)
				}
			}
			after := head(t)
			if after-before != taken {
				t.Fatalf("%d are said to be in the book, %d came: %s\n%s", taken, after-before, sent, w.Body)
			}
			before = after
		}
	})
}
