package virtual

import "math"

// gaussPoints nodes integrate polynomials of degree 47 exactly.
const gaussPoints = 24

var gaussNodes, gaussWeights = gauss()

// gauss returns nodes and weights on -1 … 1, from Newton's method on the
// Legendre polynomial of degree gaussPoints.
func gauss() (nodes, weights [gaussPoints]float64) {
	var p [gaussPoints + 1]float64
	const n = float64(gaussPoints)
	for i := range nodes {
		x := math.Cos(math.Pi * (float64(i) + 0.75) / (n + 0.5))
		slope := 0.0
		for range 10 {
			legendre(p[:], x)
			slope = n * (x*p[gaussPoints] - p[gaussPoints-1]) / (x*x - 1)
			x -= p[gaussPoints] / slope
		}
		nodes[i], weights[i] = x, 2/((1-x*x)*slope*slope)
	}
	return nodes, weights
}
