package paper

// Cage has the browser run in a sandbox, as it does when we are not root.
func (p *Printer) Cage() { p.caged = true }
