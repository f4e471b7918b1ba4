// Package labels draws what comes out of the shop's printer: stickers and tags
// for parts, tickets with their stubs for counted groups, placards and badges,
// travelers for the day without a network, and the page that shows how far a
// printer is off. Each has a QR code and the mark in letters a person can read.
// It owns the formats of the paper, the fitting of text and the pictures of a
// part and of its notched strip, as PDF and as SVG: layout makes a list of what
// is drawn, and both are written from it. It does not own what is printed or when, which is an event of the
// shop, and it never asks for the time: the same input gives the same bytes.
package labels
