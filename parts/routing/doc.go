// Package routing moves parts, assemblies and tickets through their steps:
// what a scan means, what comes next, and why something may not move. It owns
// the ready-made lists of steps and the picture of a part's life. It does not
// save anything and does not repair anything (rework does).
package routing
