package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"maps"
	"net/http"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/go-chi/chi/v5"

	"pinwright/pinmap/project"
)

// contract is the description of the API, closed: what it does not mention may not stand in an answer, so that every field
// is described. The description itself stays open, so that a later version may add fields.
var contract = sync.OnceValues(func() (*openapi3.T, error) {
	var doc map[string]any
	if err := json.Unmarshal(description, &doc); err != nil {
		return nil, err
	}
	schemas := doc["components"].(map[string]any)["schemas"].(map[string]any)
	parts := map[string]string{"Result": "Project", "Advice": "ProjectAdvice"} // each part of another schema, which is closed around it
	open := map[string]any{}
	for part := range parts {
		open["Open"+part] = schemas[part]
		delete(schemas, part)
	}
	closeSchema(schemas)
	maps.Copy(schemas, open)
	for part, around := range parts {
		inside := []any{map[string]any{"$ref": "#/components/schemas/Open" + part}}
		schemas[part] = map[string]any{"allOf": inside, "unevaluatedProperties": false}
		schemas[around].(map[string]any)["allOf"] = inside
	}
	closed, err := json.Marshal(doc)
	if err != nil {
		return nil, err
	}
	return openapi3.NewLoader().LoadFromData(closed)
})

// closeSchema forbids properties that are not described, at any depth.
func closeSchema(v any) {
	switch v := v.(type) {
	case map[string]any:
		if _, ok := v["properties"].(map[string]any); ok && v["type"] == "object" {
			if _, combined := v["allOf"]; combined {
				v["unevaluatedProperties"] = false
			} else if _, said := v["additionalProperties"]; !said {
				v["additionalProperties"] = false
			}
		}
		for _, inner := range v {
			closeSchema(inner)
		}
	case []any:
		for _, inner := range v {
			closeSchema(inner)
		}
	}
}

func mustContract(t testing.TB) *openapi3.T {
	t.Helper()
	doc, err := contract()
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// checkContract fails the test where an answer of the API, or a request that it took, is not as described.
func (s *site) checkContract(a ask, g got) {
	s.t.Helper()
	address, _, _ := strings.Cut(a.path, "?")
	matched := chi.NewRouteContext()
	found := s.app.routes.Match(matched, a.method, address)
	pattern := matched.RoutePattern()
	if !strings.HasPrefix(address, "/api/") && pattern != "/healthz" && pattern != "/readyz" {
		return
	}
	doc := mustContract(s.t)
	if a.method == http.MethodHead { // has the headers of GET and no body
		return
	}
	if !found {
		if err := doc.Components.Schemas["Problem"].Value.VisitJSON(decoded(s.t, g.body), openapi3.EnableJSONSchema2020()); err != nil {
			s.t.Errorf("%s %s: %v", a.method, pattern, err)
		}
		return
	}
	item := doc.Paths.Value(pattern)
	if item == nil || item.GetOperation(a.method) == nil {
		s.t.Errorf("%s %s is not described", a.method, pattern)
		return
	}
	params := map[string]string{}
	for i, key := range matched.URLParams.Keys {
		params[key] = matched.URLParams.Values[i]
	}
	request, err := http.NewRequestWithContext(context.Background(), a.method, s.URL+a.path, bytes.NewReader(a.body))
	if err != nil {
		s.t.Fatal(err)
	}
	for name, value := range a.header {
		request.Header.Set(name, value)
	}
	options := &openapi3filter.Options{IncludeResponseStatus: true, SkipSettingDefaults: true}
	input := &openapi3filter.RequestValidationInput{Request: request, PathParams: params, Options: options,
		Route: &routers.Route{Spec: doc, Path: pattern, PathItem: item, Method: a.method, Operation: item.GetOperation(a.method)}}
	if g.StatusCode < 300 && a.header["Content-Type"] == "application/json" {
		if err := openapi3filter.ValidateRequest(context.Background(), input); err != nil {
			s.t.Errorf("%s %s took what is not described: %v", a.method, pattern, err)
		}
	}
	answer := &openapi3filter.ResponseValidationInput{RequestValidationInput: input, Status: g.StatusCode, Header: g.Header,
		Body: io.NopCloser(bytes.NewReader(g.body)), Options: options}
	if err := openapi3filter.ValidateResponse(context.Background(), answer); err != nil {
		s.t.Errorf("%s %s answers %d, which is not as described: %s", a.method, pattern, g.StatusCode, firstFault(err))
	}
}

// firstFault gives the line that says what is wrong. Once one field is wrong, the checker counts all beside it as not described.
func firstFault(err error) string {
	for line := range strings.Lines(err.Error()) {
		if strings.Contains(line, "error at") && !strings.Contains(line, "false schema") {
			return line
		}
	}
	return shorten(err.Error(), 400)
}

func decoded(t testing.TB, data []byte) (v any) {
	t.Helper()
	if err := json.Unmarshal(data, &v); err != nil {
		t.Fatalf("%.200s: %v", data, err)
	}
	return v
}

// The media types of the files are texts and bytes to the checker, which knows neither by itself.
func init() {
	for _, mediaType := range []string{"text/html", "text/csv", "image/svg+xml", "image/vnd.dxf", "audio/midi"} {
		openapi3filter.RegisterBodyDecoder(mediaType, openapi3filter.PlainBodyDecoder)
	}
}

func TestDescriptionIsValidAndCoversEveryRoute(t *testing.T) {
	doc, err := openapi3.NewLoader().LoadFromData(description)
	if err != nil {
		t.Fatal(err)
	}
	if err := doc.Validate(t.Context()); err != nil {
		t.Error(err)
	}
	described := map[string]bool{}
	for pattern, item := range doc.Paths.Map() {
		for method := range item.Operations() {
			described[method+" "+pattern] = true
		}
	}
	served := map[string]bool{}
	err = chi.Walk(newSite(t).app.routes, func(method, pattern string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if strings.HasPrefix(pattern, "/api/") || pattern == "/healthz" || pattern == "/readyz" {
			served[method+" "+pattern] = true
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if !maps.Equal(described, served) {
		t.Errorf("described %v\nserved %v", slices.Sorted(maps.Keys(described)), slices.Sorted(maps.Keys(served)))
	}
}

func TestDescriptionHasAnExampleOfEveryKindOfDecision(t *testing.T) {
	doc := mustContract(t)
	body := doc.Paths.Value("/api/projects/{token}/decisions").Post.RequestBody.Value.Content.Get("application/json")
	var kinds []string
	for name, example := range body.Examples {
		text, err := json.Marshal(example.Value.Value)
		if err != nil {
			t.Fatal(err)
		}
		decision, err := project.ParseDecision(text)
		if err != nil {
			t.Errorf("%s is refused: %v", name, err)
		}
		if err := body.Schema.Value.VisitJSON(decoded(t, text), openapi3.EnableJSONSchema2020()); err != nil {
			t.Errorf("%s is not as described: %v", name, err)
		}
		kinds = append(kinds, string(decision.Kind))
	}
	slices.Sort(kinds)
	want := []string{"add", "leave-out", "move", "octave", "place", "redo", "release", "remove", "setup", "several", "shift", "undo"}
	if kinds = slices.Compact(kinds); !slices.Equal(kinds, want) {
		t.Errorf("examples of %v; want %v", kinds, want)
	}
}

// A checker that lets everything pass proves nothing, so it is shown answers that are wrong.
func TestContractRefusesWhatIsNotDescribed(t *testing.T) {
	s := newSite(t)
	sound := s.upload("/api/arrange", tunePart).wantStatus(t, http.StatusOK)
	tests := map[string]func(map[string]any){
		"a field too many":            func(v map[string]any) { v["extra"] = 1 },
		"a field too few":             func(v map[string]any) { delete(v, "pins") },
		"a field too many, deep down": func(v map[string]any) { v["pins"].([]any)[0].(map[string]any)["extra"] = 1 },
		"a text for a number":         func(v map[string]any) { v["arrangement"].(map[string]any)["bound"] = "1" },
	}
	schema := mustContract(t).Components.Schemas["Result"].Value
	if err := schema.VisitJSON(decoded(t, sound.body), openapi3.EnableJSONSchema2020()); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range tests {
		t.Run(name, func(t *testing.T) {
			answer := decoded(t, sound.body).(map[string]any)
			spoil(answer)
			if schema.VisitJSON(answer, openapi3.EnableJSONSchema2020()) == nil {
				t.Error("it passed")
			}
		})
	}
}
