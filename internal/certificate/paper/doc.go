// Package paper turns an issued certificate into a printed page, and many of them into one ZIP file. It draws what it is told and decides
// nothing: whether somebody may have a certificate, and until when it is good, is settled before a Sheet is filled. It has no clock, and the
// same sheets give the same bytes. This is the one package that knows the PDF writer, the fonts and the QR code.
//
// The page is the employer's own record. It must never look like a licence or like an accredited certification (ISO/IEC 17024, clause 9.4,
// from memory): no seal, no brand, no praise, and the cautions stand on every page.
package paper
