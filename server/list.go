package server

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"

	"github.com/gin-gonic/gin"

	"benchtally/parts"
	"benchtally/parts/bench"
	"benchtally/parts/cutlist"
)

// listPage is a list before it is confirmed. Everything the person chose goes
// back and forth with the form: the server keeps nothing until then.
type listPage struct {
	Job    string
	Unit   string
	Table  string // the cells, as JSON, for the next form
	Fields []cutlist.Field
	bench.Preview
	Rows   []listRow
	Unused []string // headings nobody reads
	Same   string   // code of a job of the same name
	Steps  []parts.Routing
	Frames []parts.Routing
}

// listRow is one row of the file with what is wrong in it.
type listRow struct {
	Number   int
	Cells    []string
	Bad      map[int]bool // columns, from 0
	Troubles []cutlist.Trouble
	Heading  bool
}

// newList is the form in which a list comes in, with what was wrong the last
// time.
type newList struct {
	Job, Unit, Text string
	Problem         *parts.Problem
}

func (s *Server) newList(c *gin.Context) error {
	s.page(c, http.StatusOK, "list", "New job", newList{Unit: string(s.words(c.Request.Context()).Unit)})
	return nil
}

// previewList reads an uploaded or pasted list, or the one of the form before,
// and shows it with every problem marked.
func (s *Server) previewList(c *gin.Context) error {
	table, err := s.sentTable(c)
	if p := parts.AsProblem(err); p != nil {
		s.page(c, statuses[p.Sort], "list", "New job", newList{Unit: c.PostForm("unit"), Job: c.PostForm("job"), Text: c.PostForm("text"), Problem: p})
		return nil
	}
	if err != nil {
		return err
	}
	page, err := s.listPage(c, table)
	if err != nil {
		return err
	}
	status := http.StatusOK
	if len(page.List.Troubles) > 0 {
		status = http.StatusUnprocessableEntity
	}
	s.page(c, status, "preview", "Look it over", page)
	return nil
}

// makeJob makes the job that was previewed.
func (s *Server) makeJob(c *gin.Context) error {
	if c.PostForm("again") != "" {
		return s.previewList(c)
	}
	table, err := s.sentTable(c)
	if err != nil {
		return err
	}
	page, err := s.listPage(c, table)
	if err != nil {
		return err
	}
	if len(page.List.Troubles) > 0 {
		s.page(c, http.StatusUnprocessableEntity, "preview", "Look it over", page)
		return nil
	}
	id, err := parts.ParseCommandID(c.PostForm("id"))
	if err != nil {
		return err
	}
	job, err := s.bench.MakeJob(c.Request.Context(), id, page.Job, page.Preview)
	if err != nil {
		return err
	}
	c.Redirect(http.StatusSeeOther, "/jobs/"+job.Code)
	return nil
}

// sentTable gives the cells that a form sent: a file, pasted text, or the
// cells that a page before it had read.
func (s *Server) sentTable(c *gin.Context) (cutlist.Table, error) {
	if cells := c.PostForm("table"); cells != "" {
		var table cutlist.Table
		if err := json.Unmarshal([]byte(cells), &table); err != nil {
			return table, parts.Problemf(parts.Invalid, "table-unreadable", "The list was damaged on its way.").Next("Choose the file again.").Because(err)
		}
		return table, nil
	}
	file, err := c.FormFile("file")
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &tooBig):
		return cutlist.Table{}, err
	case err == nil && (file.Size > 0 || strings.TrimSpace(c.PostForm("text")) == ""):
		f, err := file.Open()
		if err != nil {
			return cutlist.Table{}, fmt.Errorf("open the upload: %w", err)
		}
		defer f.Close()
		data, err := io.ReadAll(f)
		if err != nil {
			return cutlist.Table{}, fmt.Errorf("read the upload: %w", err)
		}
		return cutlist.ReadFile(file.Filename, data)
	case strings.TrimSpace(c.PostForm("text")) != "":
		return cutlist.ReadText(c.PostForm("text"))
	}
	return cutlist.Table{}, parts.Problemf(parts.Invalid, "list-missing", "No list was chosen.").Next("Choose a file, or paste the rows from your spreadsheet.")
}

// listPage reads the choices of the form and previews the list.
func (s *Server) listPage(c *gin.Context, table cutlist.Table) (listPage, error) {
	page := listPage{Job: strings.TrimSpace(c.PostForm("job")), Unit: c.PostForm("unit"), Fields: cutlist.Fields}
	if page.Unit != "mm" {
		page.Unit = "in"
	}
	choices := cutlist.Choices{Unit: parts.Unit(page.Unit), Columns: map[string]cutlist.Field{}, Assemblies: map[string]int{}}
	picks := bench.Picks{Steps: map[int]string{}, Spares: map[int]int{}, Tests: map[int]int{}, PerBlank: map[int]int{}, AssemblySteps: map[string]string{}}
	if err := readChoices(c, &choices, &picks); err != nil {
		return page, err
	}
	var err error
	if page.Preview, err = s.bench.Preview(c.Request.Context(), table, choices, picks); err != nil {
		return page, err
	}
	for _, r := range page.Routings {
		if r.For == parts.Assembly {
			page.Frames = append(page.Frames, r)
		} else {
			page.Steps = append(page.Steps, r)
		}
	}
	for _, col := range page.List.Columns {
		if col.Field == cutlist.Ignored && !col.ByHand && strings.TrimSpace(col.Heading) != "" {
			page.Unused = append(page.Unused, col.Heading)
		}
	}
	jobs, err := s.bench.Jobs(c.Request.Context())
	if err != nil {
		return page, err
	}
	for _, j := range jobs {
		if strings.EqualFold(j.Name, page.Job) {
			page.Same = j.Code
		}
	}
	cells, err := json.Marshal(table)
	page.Table = string(cells)
	page.mark(table)
	return page, err
}

// readChoices reads the fields of the preview's form: field:HEADING,
// made:ASSEMBLY, frame-steps:ASSEMBLY, steps:ROW, spares:ROW, tests:ROW and
// per-blank:ROW. An assembly is named by its path.
func readChoices(c *gin.Context, choices *cutlist.Choices, picks *bench.Picks) error {
	for key, values := range c.Request.PostForm {
		what, of, ok := strings.Cut(key, ":")
		if !ok || len(values) == 0 || values[0] == "" {
			continue
		}
		value := strings.TrimSpace(values[0])
		row, _ := strconv.Atoi(of)
		switch what {
		case "field":
			if value == "ignore" {
				value = ""
			}
			choices.Columns[of] = cutlist.Field(value)
		case "frame-steps":
			picks.AssemblySteps[of] = value
		case "steps":
			picks.Steps[row] = value
		}
		numbers := map[string]map[int]int{"spares": picks.Spares, "tests": picks.Tests, "per-blank": picks.PerBlank}[what]
		if what != "made" && numbers == nil {
			continue
		}
		n, err := strconv.Atoi(value)
		if err != nil {
			return parts.Problemf(parts.Invalid, "number-unreadable", "%q is not a number.", value).Next("Go back and write it in digits.")
		}
		if what == "made" {
			choices.Assemblies[of] = n
		} else {
			numbers[row] = n
		}
	}
	return nil
}

// mostShown bounds the rows of a troubled list that are shown.
const mostShown = 300

// mark lays the troubles over the rows they are in.
func (p *listPage) mark(t cutlist.Table) {
	by := map[int][]cutlist.Trouble{}
	for _, tr := range p.List.Troubles {
		by[tr.Row] = append(by[tr.Row], tr)
	}
	for _, r := range t.Rows {
		row := listRow{Number: r.Number, Bad: map[int]bool{}, Troubles: by[r.Number], Heading: r.Number == p.List.Heading}
		for _, cell := range r.Cells {
			row.Cells = append(row.Cells, cell.Text)
		}
		for _, tr := range row.Troubles {
			row.Bad[tr.Column-1] = true
		}
		if row.Heading || len(row.Troubles) > 0 || len(p.Rows) < mostShown {
			p.Rows = append(p.Rows, row)
		}
	}
}
