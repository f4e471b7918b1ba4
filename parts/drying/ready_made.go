package drying

// noSource is what stands beside the figures a shop starts with.
const noSource = "common practice, no source; the product's data sheet decides"

const (
	hour = 60
	day  = 24 * hour
)

// ReadyMade are the products a shop starts with, by what they are made of.
// Their figures are common practice, no source, save that wood glue holds
// after about an hour and is not loaded before a day, which makers of it
// commonly print. A shop overwrites them from its data sheets before it trusts
// them.
func ReadyMade() []Product {
	products := []Product{
		{Key: "pva-glue", Name: "PVA wood glue", Kind: Glue, Celsius: 20, Humidity: 50, Lowest: 10, Evaporates: true,
			ClampsOff: hour, Machine: day, Sand: 3 * day, Cure: day},
		{Key: "water-stain", Name: "Water-borne stain", Kind: Stain, Celsius: 20, Humidity: 50, Lowest: 10, Evaporates: true,
			Turn: hour, Recoat: 4 * hour, Stack: 12 * hour, Wrap: day, Cure: day},
		{Key: "oil-stain", Name: "Oil stain", Kind: Stain, Celsius: 20, Humidity: 50, Lowest: 10,
			Turn: 4 * hour, Recoat: 12 * hour, Stack: 2 * day, Wrap: 3 * day, Cure: 3 * day},
		{Key: "water-clear", Name: "Water-borne clear coat", Kind: Clear, Celsius: 20, Humidity: 50, Lowest: 13, Evaporates: true,
			Turn: hour, Recoat: 4 * hour, Sand: 4 * hour, Stack: day, Wrap: day, Cure: 14 * day},
		{Key: "oil-varnish", Name: "Oil varnish", Kind: Clear, Celsius: 20, Humidity: 50, Lowest: 10,
			Turn: 8 * hour, Recoat: day, Sand: day, Stack: 3 * day, Wrap: 7 * day, Cure: 30 * day},
		{Key: "shellac", Name: "Shellac", Kind: Sealer, Celsius: 20, Humidity: 50, Lowest: 10, Evaporates: true,
			Turn: hour / 2, Recoat: hour, Sand: hour, Stack: day, Wrap: 2 * day, Cure: 7 * day},
	}
	for i := range products {
		products[i].Source = noSource
	}
	return products
}
