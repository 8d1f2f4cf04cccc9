package web

import (
	"net/http"

	"groundhand/internal/certificate"
)

// Pages that are the same for everybody. One page stands for whatever is not there, so that it tells nothing.
var (
	style          = reply{status: http.StatusOK, kind: "text/css; charset=utf-8", body: mustRead("page/page.css")}
	askPage        = made(http.StatusOK, sheet{Head: "Check a certificate", Ask: true, Cautions: cautions})
	notKnownPage   = verdictPage(http.StatusNotFound, stateWords[certificate.NotKnown])
	cannotTellPage = notice(http.StatusServiceUnavailable, "The check could not be made",
		"Something is wrong on our side just now. This says nothing about the certificate.", "Try again in a few minutes, or ask the issuer.").after(120)
	tooOftenPage = notice(http.StatusTooManyRequests, "Too many checks",
		"More checks came from your address than are answered in a minute. This says nothing about the certificate.", "Wait a minute and try again.")
	busyPage = notice(http.StatusServiceUnavailable, "Too many files at once",
		"Other files are being checked just now. This says nothing about yours.", "Try again in a minute, or scan the code on the certificate.").after(10)
	onlyReadPage = notice(http.StatusMethodNotAllowed, "That is not done here", "This address is only for reading.")

	tooLargePage  = fileNotice(http.StatusRequestEntityTooLarge, "The file is too large", "A certificate is far smaller than 2 MB. Choose the PDF or JSON file as it was issued.")
	tooSlowPage   = fileNotice(http.StatusRequestTimeout, "The file took too long", "The connection was too slow for the whole file to arrive. Try again, or scan the code on the certificate.")
	brokenPage    = fileNotice(http.StatusBadRequest, "The file did not arrive whole", "The sending broke off before its end. Choose the file again.")
	onePage       = fileNotice(http.StatusBadRequest, "No file chosen", "Choose one file, and one at a time: the PDF or JSON file of the certificate.")
	wrongKindPage = fileNotice(http.StatusUnsupportedMediaType, "This kind of file is not read here", "Choose the PDF or JSON file of the certificate.")
)

func mustRead(name string) []byte {
	b, err := pageFiles.ReadFile(name)
	if err != nil {
		panic(err)
	}
	return b
}

func verdictPage(status int, v verdict) reply { return made(status, sheet{Verdict: &v}) }

func notice(status int, head string, say ...string) reply {
	return made(status, sheet{Head: head, Say: say})
}

// fileNotice lets the visitor choose again on the same page.
func fileNotice(status int, head string, say ...string) reply {
	return made(status, sheet{Head: head, Say: say, Ask: true})
}

// after tells programs when to try again.
func (r reply) after(seconds int) reply {
	r.again = seconds
	return r
}
