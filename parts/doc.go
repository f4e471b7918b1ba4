// Package parts is the vocabulary of the shop: lengths, marks, steps, what a
// part is, what can happen to it and what state that leaves it in. It owns
// the words and the fold of events into states. It does not own any rule of
// the shop (the rooms below it do), and it imports the standard library only.
package parts
