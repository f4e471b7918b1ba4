package bench_test

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"benchtally/parts/bench"
	"benchtally/parts/shoptest"
)

func TestRequestsAndAnswersAreWrittenAsEncodingJSONWritesThem(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var r bench.Request
		shoptest.Anything(t, reflect.ValueOf(&r).Elem())
		shoptest.WrittenAsJSON(t, &r)
		var a bench.Answer
		shoptest.Anything(t, reflect.ValueOf(&a).Elem())
		shoptest.WrittenAsJSON(t, a)
	})
}
