package main

import "context"

// gate lets a few derivations run at a time, a few more wait, and turns the rest away.
type gate struct {
	running chan struct{}
	inside  chan struct{} // running and waiting
}

func newGate(running, waiting int) *gate {
	return &gate{running: make(chan struct{}, running), inside: make(chan struct{}, running+waiting)}
}

// do runs f when there is room. It gives a fault of the kind busy where too many wait already, and the context's error
// where that ends first.
func (g *gate) do(ctx context.Context, f func() error) error {
	select {
	case g.inside <- struct{}{}:
		defer func() { <-g.inside }()
	default:
		return &fault{kind: busy, title: "The server is busy", detail: "Too many tunes are being worked out at once. Try again in a few seconds."}
	}
	select {
	case g.running <- struct{}{}:
		defer func() { <-g.running }()
	case <-ctx.Done():
		return ctx.Err()
	}
	return f()
}
