// Package audiotest helps to test sound cards and what uses them: rules that
// every [audio.Card] must keep ([TestCard]), and cards that do legal but nasty
// things to a record ([Wrap], [FailAfter]).
package audiotest
