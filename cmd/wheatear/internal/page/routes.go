package page

import "net/http"

// route is one call of the interface. The document of the interface lists the same.
type route struct {
	method, path string
	serve        http.HandlerFunc
}

// routes is the whole interface; the pages use nothing else.
func (b *Bench) routes() []route {
	return []route{
		{"GET", "/api/openapi.json", b.serveDocument},
		{"GET", "/api/state", get(func(*http.Request) (any, error) { return b.State(), nil })},
		{"GET", "/api/events", b.serveEvents},
		{"GET", "/metrics", b.serveMetrics},

		{"POST", "/api/cautions", post(func(_ *http.Request, _ struct{}) error { return b.ReadCautions() })},
		{"POST", "/api/jig", post(func(_ *http.Request, in struct {
			Key string `json:"key"`
		}) error {
			return b.ChooseJig(in.Key)
		})},
		{"POST", "/api/tray/part", post(func(_ *http.Request, in struct {
			Name string `json:"name"`
		}) error {
			return b.Insert(in.Name)
		})},
		{"POST", "/api/tray/faults", post(func(_ *http.Request, in struct {
			On []string `json:"on"`
		}) error {
			return b.SetFaults(in.On)
		})},
		{"POST", "/api/stop", post(func(_ *http.Request, _ struct{}) error { b.Stop(); return nil })},

		{"POST", "/api/live", post(func(r *http.Request, in LiveSettings) error { return b.StartLive(in, tab(r)) })},
		{"GET", "/api/live", b.serveLive},
		{"GET", "/api/trend", get(func(*http.Request) (any, error) { return b.Trend(), nil })},

		{"POST", "/api/calibration", post(func(r *http.Request, in CalibrationRequest) error { return b.StartCalibration(in, tab(r)) })},
		{"POST", "/api/calibration/record", post(func(_ *http.Request, _ struct{}) error { return b.poke(CalibrationKind, pokeRecord) })},
		{"POST", "/api/calibration/skip", post(func(_ *http.Request, _ struct{}) error { return b.poke(CalibrationKind, skip) })},
		{"POST", "/api/calibration/resume", post(func(r *http.Request, _ struct{}) error { return b.ResumeCalibration(tab(r)) })},
		{"POST", "/api/calibration/drop", post(func(_ *http.Request, _ struct{}) error { return b.DropCalibration() })},
		{"GET", "/api/calibration/file", b.serveCalibration},

		{"POST", "/api/readings", b.serveRead},
		{"GET", "/api/readings", get(func(r *http.Request) (any, error) { return b.Readings(mostReadings), nil })},
		{"GET", "/api/readings/{id}", get(b.readingByID)},
		{"GET", "/api/readings/{id}/report", b.serveReport},
		{"GET", "/api/recordings/{file}", b.serveRecording},

		{"GET", "/api/notebook", get(b.listNotebook)},
		{"GET", "/api/notebook/history", get(b.notebookHistory)},
		{"GET", "/api/notebook/{id}", get(b.notebookEntry)},
		{"POST", "/api/notebook/{id}", post(b.describeEntry)},
		{"GET", "/api/notebook/{id}/result", b.serveResult},
		{"GET", "/api/notebook/{id}/report", b.serveEntryReport},
		{"POST", "/api/notebook/{id}/remove", post(b.removeEntry)},
		{"POST", "/api/notebook/{id}/restore", post(b.restoreEntry)},
		{"GET", "/api/notebook-export/{format}", b.exportEntries},

		{"POST", "/api/sweep", post(func(r *http.Request, in SweepRequest) error { return b.StartSweep(in, tab(r)) })},
		{"POST", "/api/sweep/resume", post(func(r *http.Request, _ struct{}) error { return b.ResumeSweep(tab(r)) })},
		{"GET", "/api/sweep", get(func(*http.Request) (any, error) { return b.Sweep(), nil })},
		{"GET", "/api/sweep/file/{format}", b.serveSweepFile},
		{"GET", "/api/sweep/fit", get(b.serveFit)},

		{"POST", "/api/sort", post(func(r *http.Request, in SortRequest) error { return b.StartSort(in, tab(r)) })},
		{"POST", "/api/sort/count", post(func(_ *http.Request, _ struct{}) error { return b.poke(SortKind, count1) })},
		{"POST", "/api/sort/back", post(func(_ *http.Request, in struct {
			No int `json:"no"`
		}) error {
			return b.TakeBackSorted(in.No)
		})},
		{"POST", "/api/sort/clear", post(func(_ *http.Request, _ struct{}) error { return b.ClearSort() })},
		{"GET", "/api/sort", get(func(*http.Request) (any, error) { return b.Sorted(), nil })},
		{"GET", "/api/sort/parts", get(b.sortedParts)},
		{"GET", "/api/sort/file/{format}", b.serveSortFile},

		{"POST", "/api/tasks/{name}", post(func(r *http.Request, in TaskRequest) error { return b.StartTask(r.PathValue("name"), in, tab(r)) })},
		{"GET", "/api/tasks/{name}", get(func(r *http.Request) (any, error) { return b.TaskResult(r.PathValue("name")) })},
		{"GET", "/api/tasks/{name}/chart", b.serveTaskFile("svg")},
		{"GET", "/api/tasks/{name}/report", b.serveTaskFile("html")},
		{"POST", "/api/answer", post(func(r *http.Request, in struct {
			Text string `json:"text"`
		}) error {
			return b.Answer(r.Context(), in.Text)
		})},
	}
}

// mostReadings are listed at once.
const mostReadings = 500
