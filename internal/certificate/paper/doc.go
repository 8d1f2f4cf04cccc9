// Package paper turns a signed certificate into a printed page, and many of them into one ZIP file. A page is a rendering of the signed file
// attached to it and of nothing else: what that file does not say is refused (agree.go), and so the same certificate gives the same bytes,
// whatever becomes of it later. Whether it stands today is told by the check address alone.
//
// It decides nothing: whether somebody may have a certificate, and until when it is good, is settled before a Sheet is filled. It has no
// clock. This is the one package that knows the PDF writer, the fonts and the QR code.
//
// The page is the employer's own record. It must never look like a licence or like an accredited certification (ISO/IEC 17024, clause 9.4,
// from memory): no seal, no brand, no praise, and the cautions stand on every page.
//
// From sheet to file: check.go looks at every field, words.go says what stands where, layout.go finds the sizes that fit, marks.go places
// accents, fonts.go gives the letters, pdf.go hands it all to the PDF writer. zip.go makes many. attached.go and dictionary.go read the
// attachment back out of a file that anybody may have sent.
package paper
