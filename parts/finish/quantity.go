package finish

import (
	"math/big"

	"benchtally/parts"
)

// A film of one micrometre that spreads over a square metre is a millilitre:
// 1000 µm to the litre.
const micrometresPerLitre = 1_000

// Rate is how many square metres a litre covers when the film is to be dry
// thick, for a finish with that much solids by volume, in percent. It is 0
// when one of the two is not known.
func Rate(solids Decimal, dry parts.Length) Decimal {
	if solids <= 0 || dry <= 0 {
		return 0
	}
	micrometres := big.NewRat(int64(dry), int64(parts.Micrometre))
	rate := solids.percentOf(big.NewRat(micrometresPerLitre, 1))
	return decimalOf(rate.Quo(rate, micrometres))
}

// metresOfFeet is how many square metres to the litre one square foot to the
// gallon is.
func metresOfFeet() *big.Rat {
	return new(big.Rat).Quo(big.NewRat(int64(SquareFoot), int64(SquareMetre)), big.NewRat(int64(Gallon), int64(Litre)))
}

// FromFeet turns square feet to the gallon into square metres to the litre.
func FromFeet(rate Decimal) Decimal {
	return decimalOf(new(big.Rat).Mul(rate.rat(), metresOfFeet()))
}

// ToFeet turns square metres to the litre into square feet to the gallon.
func ToFeet(rate Decimal) Decimal {
	return decimalOf(new(big.Rat).Quo(rate.rat(), metresOfFeet()))
}

// OnWood is what of a rate is left when some of the finish, in percent, never
// reaches the wood.
func OnWood(rate, loss Decimal) Decimal {
	return decimalOf((100*One - loss).percentOf(rate.rat()))
}

// DryFilm is how thick a wet film dries, for that much solids by volume and
// that much thinner, in percent of the finish that it is put into.
func DryFilm(wet parts.Length, solids, thinner Decimal) parts.Length {
	dry := solids.percentOf(big.NewRat(int64(wet), 1))
	return parts.Length(nearest(dry.Quo(dry, (100*One + thinner).percentOf(big.NewRat(1, 1)))))
}

// WetFilm is how thick a film must be laid to dry to dry; 0 when the solids
// are not known.
func WetFilm(dry parts.Length, solids, thinner Decimal) parts.Length {
	if solids <= 0 {
		return 0
	}
	wet := (100*One + thinner).percentOf(big.NewRat(int64(dry), 1))
	return parts.Length(nearest(wet.Quo(wet, solids.percentOf(big.NewRat(1, 1)))))
}

// WetFilmAt is how thick a film is laid where a litre covers so many square
// metres; 0 when that is not known.
func WetFilmAt(rate Decimal) parts.Length {
	if rate <= 0 {
		return 0
	}
	film := big.NewRat(micrometresPerLitre*int64(parts.Micrometre), 1)
	return parts.Length(nearest(film.Quo(film, rate.rat())))
}

// CodeNoCoverage is the code of a mix whose coverage nobody wrote.
const CodeNoCoverage = "no-coverage"

// Need is how much of a mix some coats of an area take: the area by the
// coverage, more for what never reaches the wood, and the reserve on top.
func Need(m Mix, area Surface, coats int) (Volume, *parts.Problem) {
	if p := Check(m); p != nil {
		return 0, p
	}
	if m.Coverage == 0 {
		return 0, parts.Problemf(parts.Refused, CodeNoCoverage, "How far a litre of %s goes is not written.", m.Name).
			Next("Write it in the mix, from its data sheet.")
	}
	if area <= 0 || coats <= 0 {
		return 0, nil
	}
	litres := new(big.Rat).Mul(big.NewRat(int64(area), int64(SquareMetre)), big.NewRat(int64(coats), 1))
	litres.Quo(litres, m.Coverage.rat())
	litres.Quo(litres, (100*One - m.Loss).percentOf(big.NewRat(1, 1)))
	litres.Mul(litres, (100*One + m.Reserve).percentOf(big.NewRat(1, 1)))
	return Litre.times(litres), nil
}
