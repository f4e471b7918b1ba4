// Package labels draws what comes out of the shop's printer: stickers for
// parts, tickets for counted groups and placards for stations, each with a QR
// code and the mark in letters a person can read. It owns the geometry of the
// paper, the fitting of text and the picture of the notched strip, as PDF and
// as SVG. It does not own what is printed or when, which is an event of the
// shop, and it never asks for the time: the same input gives the same bytes.
package labels
