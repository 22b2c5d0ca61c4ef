package wiring

// The figures for a terminal. A and B are the terminals of the part.
const (
	partToGround = `  output o---[ Rs ]---+--------------[ Ri ]--+-----o input 1   total
                      |                   [clamp]
                 [reference]                 |
                      |                   ground
                  (A) +--------------[ Ri ]--+-----o input 2   part
                      |                   [clamp]
                   [part]                    |
                      |                   ground
                  (B) |
  ground o------------+----------------------------o ground
`
	referenceToGround = `  output o---[ Rs ]---+--------------[ Ri ]--+-----o input 1   total
                      |                   [clamp]
                  (A) |                      |
                   [part]                 ground
                  (B) |
                      +--------------[ Ri ]--+-----o input 2   reference
                      |                   [clamp]
                 [reference]                 |
                      |                   ground
  ground o------------+----------------------------o ground
`
	differential = `  output o---[ Rs ]---+
                  (A) |
                      +--------------[ Ri ]--------o input 1 +
                   [part]                                      part
                      +--------------[ Ri ]--------o input 1 -
                  (B) |
                      +--------------[ Ri ]--------o input 2 +
                 [reference]                                   reference
                      +--------------[ Ri ]--------o input 2 -
                      |
  ground o------------+----------------------------o ground

  A clamp lies between each of the four inputs and ground, behind its Ri.
`
	virtualGround = `  output o---[ Rs ]---+----------------------[ Ri ]--+-----o input 1   part
                      |                           [clamp]
                  (A) |                              |
                   [part]                         ground
                  (B) |
                      +----[reference]----+
                      |                   |
                      |       |\          |
                      +-------|-\         |
                              |  >--------+--[ Ri ]--+-----o input 2  -reference
                          +---|+/                 [clamp]
                          |   |/                     |
                          |                       ground
  ground o----------------+--------------------------------o ground
`
)
