package server

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/gin-gonic/gin"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

// document is the API's own description, with which every answer of a test is
// compared.
type document struct {
	raw      map[string]any
	compiler *jsonschema.Compiler
	paths    map[string]*regexp.Regexp
}

func readDocument(t testing.TB) *document {
	t.Helper()
	raw := parseJSON(t, description).(map[string]any)
	d := &document{raw: raw, compiler: jsonschema.NewCompiler(), paths: map[string]*regexp.Regexp{}}
	for path := range d.at(t, "paths").(map[string]any) {
		d.paths[path] = regexp.MustCompile("^" + regexp.MustCompile(`\\\{\w+\\\}`).ReplaceAllString(regexp.QuoteMeta(path), "[^/]+") + "$")
	}
	// What clients may take for open is closed here: an answer with a field
	// that is not described fails.
	for name, s := range d.at(t, "components", "schemas").(map[string]any) {
		if name != "Problem" && name != "Troubles" {
			closeSchema(s)
		}
	}
	d.compiler.AssertFormat()
	require.NoError(t, d.compiler.AddResource("openapi.json", raw))
	return d
}

func parseJSON(t testing.TB, data []byte) any {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
	require.NoError(t, err, "%s", data)
	return v
}

func closeSchema(s any) {
	switch s := s.(type) {
	case map[string]any:
		if _, has := s["properties"]; has && s["additionalProperties"] == nil {
			s["additionalProperties"] = false
		}
		for _, inner := range s {
			closeSchema(inner)
		}
	case []any:
		for _, inner := range s {
			closeSchema(inner)
		}
	}
}

// at walks down the document, through references.
func (d *document) at(t testing.TB, keys ...string) any {
	t.Helper()
	var v any = d.raw
	for _, k := range keys {
		m, ok := v.(map[string]any)
		require.True(t, ok && m[k] != nil, "the description has nothing at %v", keys)
		v = m[k]
	}
	return v
}

// schema compiles the schema at a place of the document.
func (d *document) schema(t testing.TB, keys ...string) *jsonschema.Schema {
	t.Helper()
	d.at(t, keys...)
	for i, k := range keys {
		keys[i] = strings.NewReplacer("~", "~0", "/", "~1").Replace(k)
	}
	s, err := d.compiler.Compile("openapi.json#/" + strings.Join(keys, "/"))
	require.NoError(t, err)
	return s
}

// path gives the described path that an address belongs to.
func (d *document) path(t testing.TB, address string) string {
	t.Helper()
	address, _, _ = strings.Cut(address, "?")
	var found []string
	for path, re := range d.paths {
		if re.MatchString(address) {
			found = append(found, path)
		}
	}
	require.Len(t, found, 1, "the description must have one path for %s", address)
	return found[0]
}

// checkAnswer compares an answer with what the document says of it.
func (d *document) checkAnswer(t testing.TB, method, address string, status int, contentType string, body []byte) {
	t.Helper()
	keys := []string{"paths", d.path(t, address), strings.ToLower(method), "responses", fmt.Sprint(status)}
	response := d.at(t, keys...).(map[string]any)
	if ref, ok := response["$ref"].(string); ok {
		keys = strings.Split(strings.TrimPrefix(ref, "#/"), "/")
	}
	keys = append(keys, "content", contentType, "schema")
	if strings.HasSuffix(contentType, "json") {
		require.NoError(t, d.schema(t, keys...).Validate(parseJSON(t, body)), "%s", body)
	}
}

// The structure of the document is checked by the schema of the OpenAPI
// Initiative for 3.1, https://spec.openapis.org/oas/3.1/schema/2022-10-07
// (Apache-2.0), in testdata/openapi.
func TestDescriptionIsOpenAPI(t *testing.T) {
	data, err := os.ReadFile("../testdata/openapi/oas31-schema.json")
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	require.NoError(t, c.AddResource("oas31.json", parseJSON(t, data)))
	official, err := c.Compile("oas31.json")
	require.NoError(t, err)
	require.NoError(t, official.Validate(parseJSON(t, description)))

	broken := parseJSON(t, description).(map[string]any)
	delete(broken, "info")
	require.Error(t, official.Validate(broken), "a document without info must fail, or nothing is checked here")
}

func TestEverySchemaHasAnExampleThatFits(t *testing.T) {
	d := readDocument(t)
	plain := []string{"Kind", "State", "Clock"} // one word out of few
	for name, s := range d.at(t, "components", "schemas").(map[string]any) {
		schema := d.schema(t, "components", "schemas", name)
		examples, _ := s.(map[string]any)["examples"].([]any)
		if !slices.Contains(plain, name) {
			assert.NotEmpty(t, examples, "%s has no example", name)
		}
		for _, e := range examples {
			assert.NoError(t, schema.Validate(e), "the example of %s", name)
		}
	}
}

func TestEveryBodyHasAnExampleThatFits(t *testing.T) {
	d := readDocument(t)
	var walk func(keys []string, v any)
	walk = func(keys []string, v any) {
		m, ok := v.(map[string]any)
		if !ok {
			return
		}
		for media, c := range m {
			c, _ := c.(map[string]any)
			here := append(slices.Clone(keys), media)
			if c["schema"] != nil && keys[len(keys)-1] == "content" && strings.HasSuffix(media, "json") {
				d.checkExamples(t, append(here, "schema"), c)
			}
			walk(here, c)
		}
	}
	walk([]string{"paths"}, d.at(t, "paths"))
	for _, shared := range []string{"Recorded", "Parked"} { // a problem's example is with its schema
		walk([]string{"components", "responses", shared}, d.at(t, "components", "responses", shared))
	}
}

// checkExamples compares the examples of one body with its schema.
func (d *document) checkExamples(t *testing.T, schema []string, media map[string]any) {
	t.Helper()
	examples := []any{}
	if e := media["example"]; e != nil {
		examples = append(examples, e)
	}
	named, _ := media["examples"].(map[string]any)
	for _, e := range named {
		examples = append(examples, e.(map[string]any)["value"])
	}
	assert.NotEmpty(t, examples, "no example at %v", schema)
	s := d.schema(t, slices.Clone(schema)...)
	for _, e := range examples {
		assert.NoError(t, s.Validate(e), "the example at %v", schema)
	}
}

// requestBodies are the bodies in JSON that the addresses read.
var requestBodies = map[string]any{
	"scans": &scanned{}, "checks": &firstChecked{}, "skips": &skipped{}, "clamps-off": &unclamped{}, "loads": &loaded{},
	"plugs": &plugged{}, "mends": &mended{}, "returns": &mended{}, "doubts": &doubted{}, "clearances": &deed{}, "relabels": &deed{},
	"holds": &noted{}, "releases": &noted{}, "take-aparts": &noted{},
	"remakes": &remade{}, "scraps": &noted{}, "losses": &lost{},
	"deliveries": &jobAsked{}, "step-changes": &stepsChanged{}, "undos": &undone{}, "late/{command}": &lateSettled{},
	"print-orders": &printing{}, "print-orders/{order}/spoils": &sheetSpoiled{}, "carts": &cartAdded{},
	"mixes": &mixWritten{}, "batches": &batchMixed{}, "samples": &boardsMade{}, "approvals": &approvedBy{}, "readings": &readingsSent{},
}

// A request may have the fields that are described, and no others.
func TestRequestsHaveTheFieldsThatAreDescribed(t *testing.T) {
	d := readDocument(t)
	seen := 0
	for path, methods := range d.at(t, "paths").(map[string]any) {
		post, _ := methods.(map[string]any)["post"].(map[string]any)
		if post == nil {
			continue
		}
		json, ok := post["requestBody"].(map[string]any)["content"].(map[string]any)["application/json"].(map[string]any)
		if !ok {
			continue
		}
		seen++
		to := requestBodies[strings.TrimPrefix(path, "/api/v1/")]
		require.NotNil(t, to, "what does %s read?", path)
		ref := strings.TrimPrefix(json["schema"].(map[string]any)["$ref"].(string), "#/components/schemas/")
		described := d.at(t, "components", "schemas", ref, "properties").(map[string]any)
		assert.ElementsMatch(t, slices.Collect(maps.Keys(described)), slices.Collect(maps.Keys(fieldsOf(to))), "%s", path)
		assert.Equal(t, false, d.at(t, "components", "schemas", ref).(map[string]any)["additionalProperties"], "%s is read strictly", path)
	}
	require.Equal(t, len(requestBodies), seen)
}

// The words that a description lists are those of the domain.
func TestDescriptionListsEveryWord(t *testing.T) {
	d := readDocument(t)
	words := func(keys ...string) (out []string) {
		for _, w := range d.at(t, append([]string{"components", "schemas"}, keys...)...).([]any) {
			out = append(out, w.(string))
		}
		return out
	}
	var kinds, clocks, faces []string
	for _, k := range parts.EventKinds {
		kinds = append(kinds, string(k))
	}
	for _, c := range parts.Clocks {
		clocks = append(clocks, string(c))
	}
	for _, f := range parts.Faces {
		faces = append(faces, string(f))
	}
	assert.ElementsMatch(t, kinds, words("EventKind", "enum"))
	assert.ElementsMatch(t, clocks, words("Clock", "enum"))
	assert.ElementsMatch(t, faces, words("Mend", "properties", "side", "items", "enum"))
	assert.Subset(t, words("State", "enum"), clocks)
	for _, s := range []parts.State{{}, {Scrapped: true}, {Held: "knot"}, {In: "101S"}, {Doubt: "same setup"}, {Finished: true},
		{Finished: true, Delivered: shoptest.Noon}} {
		assert.Contains(t, words("State", "enum"), bench.StateOf(s, shoptest.Noon))
	}
}

// Every address of the router is described, and every description is routed.
func TestDescriptionHasEveryRoute(t *testing.T) {
	p := openProgram(t, false)
	var routed []string
	for _, r := range p.api.router().Routes() {
		if strings.HasPrefix(r.Path, "/api/") {
			routed = append(routed, r.Method+" "+regexp.MustCompile(`:(\w+)`).ReplaceAllString(r.Path, "{$1}"))
		}
	}
	var described []string
	for path, methods := range p.doc.at(t, "paths").(map[string]any) {
		for method := range methods.(map[string]any) {
			described = append(described, strings.ToUpper(method)+" "+path)
		}
	}
	require.ElementsMatch(t, routed, described)
	require.NotEmpty(t, routed)
}

func TestOperationsHaveNamesOfTheirOwn(t *testing.T) {
	d := readDocument(t)
	seen := map[string]string{}
	for path, methods := range d.at(t, "paths").(map[string]any) {
		for method, op := range methods.(map[string]any) {
			id, _ := op.(map[string]any)["operationId"].(string)
			assert.NotEmpty(t, id)
			assert.Empty(t, seen[id], "%s %s has the name of another", method, path)
			seen[id] = path
		}
	}
}

func TestDescriptionIsOpen(t *testing.T) {
	gin.SetMode(gin.ReleaseMode)
	p := openProgram(t, false)
	p.token = ""
	r := p.get("/api/v1/openapi.json")
	require.Equal(t, 200, r.status)
	var doc struct{ OpenAPI string }
	require.NoError(t, json.Unmarshal(r.body, &doc))
	require.True(t, strings.HasPrefix(doc.OpenAPI, "3.1."))
}
