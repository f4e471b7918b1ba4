package server

import "net/http"

// Addresses gives the patterns of everything that a browser may open.
func (s *Server) Addresses() []string {
	var out []string
	for _, r := range s.router().Routes() {
		if r.Method == http.MethodGet {
			out = append(out, r.Path)
		}
	}
	return out
}
