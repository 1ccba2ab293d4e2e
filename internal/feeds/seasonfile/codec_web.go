package seasonfile

import (
	"net/url"
	"strings"
)

// wantContact is what a contact may be.
const wantContact = "a mail address as farm@example.com, or a page that begins with https://, in quotes"

// contact returns the codec of where a person can be reached. It travels in a header of requests, so it is plain.
func contact() codec[string] { return plainWord("contact.form", wantContact, reaches) }

// IsContact reports whether s is a mail address or a page, fit to stand in a header.
func IsContact(s string) bool {
	return len(s) <= maxNote && !strings.ContainsFunc(s, odd) && reaches(s)
}

func reaches(s string) bool {
	name, host, mail := strings.Cut(s, "@")
	return mail && name != "" && strings.Contains(host, ".") && !strings.ContainsAny(host, "@/") || isPage(s)
}

// odd reports characters that do not stand in an address.
func odd(c rune) bool { return c <= ' ' || c >= 0x7f || strings.ContainsRune("()<>\"\\", c) }

// webPage returns the codec of the address of a page.
func webPage() codec[string] {
	return plainWord("page.form", "a page that begins with https://, without name and password, in quotes", isPage)
}

func isPage(s string) bool {
	u, err := url.Parse(s)
	return err == nil && u.Scheme == "https" && u.Host != "" && u.User == nil && u.Fragment == ""
}

// plainWord returns the codec of text without spaces, brackets or letters beyond ASCII.
func plainWord(rule, want string, fits func(string) bool) codec[string] {
	return codec[string]{
		want: want, text: quote,
		read: func(r *reader, label string, n *node) (string, bool) {
			s, ok := text(maxNote).read(r, label, n)
			if !ok {
				return "", false
			}
			if strings.ContainsFunc(s, odd) || !fits(s) {
				r.refuse(n, refusal{rule, label, n.shown(), want, ""})
				return "", false
			}
			return s, true
		},
	}
}
