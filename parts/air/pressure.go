package air

import "math"

const (
	zeroKelvin = 273.15 // 0 °C in kelvins
	triple     = 0.01   // °C; ice at and below it
)

// Saturation is the pressure of saturated water vapour in pascals, over ice
// up to 0.01 °C and over water above. It holds from -100 to 200 °C.
func Saturation(celsius float64) float64 {
	if celsius <= triple {
		return OverIce(celsius)
	}
	return OverWater(celsius)
}

// OverWater is the pressure of saturated vapour over liquid water in pascals:
// Hyland and Wexler, as in ASHRAE Handbook Fundamentals 2017, ch. 1, Eq. (6).
func OverWater(celsius float64) float64 {
	t := celsius + zeroKelvin
	return math.Exp(-5.8002206e3/t + 1.3914993 + t*(-4.8640239e-2+t*(4.1764768e-5-t*1.4452093e-8)) + 6.5459673*math.Log(t))
}

// OverIce is the pressure of saturated vapour over ice in pascals: the same,
// Eq. (5).
func OverIce(celsius float64) float64 {
	t := celsius + zeroKelvin
	return math.Exp(-5.6745359e3/t + 6.3925247 + t*(-9.677843e-3+t*(6.2215701e-7+t*(2.0747825e-9-t*9.484024e-13))) + 4.1635019*math.Log(t))
}
