// Package browser holds the tests that open audit pages in Chromium; nothing else.
//
// Without Chromium they are skipped, unless BUSGAUSS_BROWSER is "required".
package browser
