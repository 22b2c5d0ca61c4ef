package page

import (
	"crypto/subtle"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

const (
	leastToken  = 16
	tokenCookie = "wheatear-token"
)

// Handler answers requests that may be answered, and refuses the others.
func (b *Bench) Handler() http.Handler {
	mux := http.NewServeMux()
	for _, r := range b.routes() {
		mux.HandleFunc(r.method+" "+r.path, r.serve)
	}
	b.addPages(mux)
	cross := http.NewCrossOriginProtection()
	cross.SetDenyHandler(refuse(http.StatusForbidden, "this request comes from another site"))
	return headers(b.checkHost(checkOrigin(cross.Handler(b.checkToken(b.bounded(mux))))))
}

// headers says what a browser may do with the pages: nothing but run our scripts.
func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "+
			"base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		next.ServeHTTP(w, r)
	})
}

// refuse answers with a reason.
func refuse(status int, why string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) { answer(w, status, problem{Error: why}) }
}

// checkHost refuses names that are not ours: a foreign name that leads here is how a
// foreign page would read ours. An address in figures cannot be that.
func (b *Bench) checkHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !b.ours(r.Host) {
			refuse(http.StatusMisdirectedRequest, "the page is not known by this name; use its address in figures")(w, r)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (b *Bench) ours(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.Trim(name, "[]"))
	if name == "localhost" || slices.Contains(b.opts.Hosts, name) {
		return true
	}
	addr, err := netip.ParseAddr(name)
	return err == nil && (b.opts.Beyond || addr.Unmap().IsLoopback())
}

// checkOrigin refuses what another page asks for, reading included. Following a
// link to one of the pages is no such thing.
func checkOrigin(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		origin, site := r.Header.Get("Origin"), r.Header.Get("Sec-Fetch-Site")
		follows := r.Method == http.MethodGet && r.Header.Get("Sec-Fetch-Mode") == "navigate" && !strings.HasPrefix(r.URL.Path, "/api/")
		foreign := origin != "" && origin != "http://"+r.Host && origin != "https://"+r.Host
		if foreign || site != "" && site != "same-origin" && site != "none" && !follows {
			refuse(http.StatusForbidden, "this request comes from another site")(w, r)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// checkToken refuses who does not have the token, where there is one. A page is
// opened with it once, and then holds it as a cookie.
func (b *Bench) checkToken(next http.Handler) http.Handler {
	if b.opts.Token == "" {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if given := r.URL.Query().Get("token"); given != "" && r.Method == http.MethodGet && b.isToken(given) {
			http.SetCookie(w, &http.Cookie{Name: tokenCookie, Value: given, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
			http.Redirect(w, r, r.URL.Path, http.StatusSeeOther) // so that it does not stay in the address
			return
		}
		given, _ := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
		if c, err := r.Cookie(tokenCookie); err == nil && given == "" {
			given = c.Value
		}
		if !b.isToken(given) {
			w.Header().Set("WWW-Authenticate", "Bearer")
			w.Header().Set("Connection", "close") // a stranger keeps no place
			refuse(http.StatusUnauthorized, "open the address that wheatear serve has printed, with its token")(w, r)
			return
		}
		if !knowConnection(r.Context()) {
			w.Header().Set("Connection", "close")
			w.Header().Set("Retry-After", "5")
			refuse(http.StatusTooManyRequests, "too many connections; close some pages")(w, r)
			return
		}
		next.ServeHTTP(w, r)
	})
}

func (b *Bench) isToken(given string) bool {
	return subtle.ConstantTimeCompare([]byte(given), []byte(b.opts.Token)) == 1
}

// bounded limits what a request can hold.
func (b *Bench) bounded(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, b.opts.limits.body)
		next.ServeHTTP(w, r)
	})
}
