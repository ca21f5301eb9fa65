package server

import (
	"fmt"

	"runtrue/internal/access"
	"runtrue/internal/store"
)

// exports by the name of the file that is asked for.
var exports = map[string]string{"list.html": "html", "list.csv": "csv", "list.json": "json", "job.json": "job"}

// export renders one job by the exporter that was handed in.
func (s *Server) export(r *request) (answer, error) {
	job := r.params["job"]
	if err := access.CheckName("job", job); err != nil {
		return answer{}, err
	}
	format, ok := exports[r.params["file"]]
	if !ok || s.cfg.Exporter == nil {
		return answer{}, faultf(codeNotFound, "a job is handed out as list.html, list.csv, list.json or job.json")
	}
	var entries [][]byte
	n := 0
	err := everyArrival(r.ctx, s.store, job, func(st store.Stored) error {
		n++
		if st.Bytes == nil {
			if st.Withheld {
				return nil
			}
			return &fault{code: codeDamaged, message: "an entry of this job was found damaged on the server; the list would be wrong without it; take it from a device that holds the job, and tell whoever looks after the server",
				cause: fmt.Errorf("arrival %d of job %q, entry %s", st.N, job, st.ID)}
		}
		entries = append(entries, st.Bytes)
		return nil
	})
	if err != nil {
		return answer{}, err
	}
	if n == 0 {
		return answer{}, faultf(codeNotFound, "job %q is not on this server; a device may have it and not have sent it yet", job)
	}
	name, kind, body, err := s.cfg.Exporter.Export(job, entries, format)
	if err != nil {
		return answer{}, fmt.Errorf("exporting job %q as %s: %w", job, format, err)
	}
	return answer{body: body, header: [][2]string{
		{"Content-Type", kind}, {"Content-Disposition", fmt.Sprintf("inline; filename=%q", safeName(name))},
		// What people typed is in there: it may be looked at, and nothing in it may run.
		{"Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'; sandbox"}}}, nil
}

// safeName keeps letters, digits, dot and hyphen of a file's name.
func safeName(s string) string {
	out := []byte(s)
	for i, c := range out {
		if !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '.' || c == '-') {
			out[i] = '-'
		}
	}
	return string(out)
}
