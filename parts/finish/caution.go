package finish

// Cautions are what can hurt when a mix is mixed and put on, short. They say
// what is usual; the products' data sheets and local rules decide.
func Cautions(m Mix) []string {
	out := []string{"Read the data sheet of everything that goes in. Gloves and eye protection on, and air the room."}
	if m.Solvent {
		out = append(out, "The vapour can burn: no flame, no sparks, no phone where it is sprayed, and air moving all the while it dries.")
	}
	if m.Method == Spray {
		out = append(out, "Fan on, and the respirator that the data sheet names: a dust mask holds back no vapour.")
	}
	if m.TwoPart() {
		out = append(out, "The hardener can make skin and lungs sensitive for good: follow its data sheet. What is left over may get hot while it sets: leave it open, away from what burns.")
	}
	if m.Oily {
		out = append(out, "Oily rags can catch fire by themselves: spread them flat to dry outdoors, or keep them under water in a closed metal can.")
	}
	return out
}
