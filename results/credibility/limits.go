package credibility

// Limits is what a result of this program cannot tell.
func Limits() []string {
	return []string{
		"Whether your fabric fails as the inputs say. Many rates of gray faults are published nowhere; see the assumptions.",
		"What a full link does. Traffic is fluid; where loads are not simulated there is no congestion, no queue, no reordering.",
		"What routing policy, misconfiguration or software faults beyond the modelled kinds do.",
		"What one particular night will be like. Figures are means and quantiles over many simulated months, with the error of chance beside them; the error of wrong inputs is larger where inputs were not varied.",
		"Whether a vendor's timers do what their documents say. Try them in a lab, under change control, before they carry traffic.",
	}
}
