package clitest

// LiveJig is the jig file of a simulated jig, as a person would write it.
const LiveJig = `name = "simulated bench"
channels = ["total", "part"]
reference = "1k"
reference_tolerance = "0.1%"
full_scale = "1V"
mains = 50

[card]
backend = "virtual"
seconds = 0.7

[virtual]
tray = "tray.toml"
`

// Tray is what lies beside it: parts of known circuit, among them one that
// calls itself an open.
const Tray = `[[part]]
name = "c100n"
circuit = "R 0.5 + C 100n"

[[part]]
name = "l10m"
circuit = "(R 12 + L 10m) // C 40p"

[[part]]
name = "r470"
circuit = "R 470"

[[part]]
name = "r22"
circuit = "R 22 + L 15n"

[[part]]
name = "c2n2"
circuit = "C 2.2n // R 100M"

[[part]]
name = "r33k"
circuit = "R 33k // C 0.3p"
`
