package picture

// Section is pictures under one heading. A row has one picture, or one for each
// of two results.
type Section struct {
	ID, Title, About string
	Pictures         [][]Picture
}

// Sections are all pictures of one result or two, in the order of reading.
func Sections(list []*Result) []Section {
	each := func(of func(*Result) Picture) []Picture {
		row := make([]Picture, len(list))
		for i, r := range list {
			row[i] = of(r)
		}
		return row
	}
	return []Section{
		{"decide", "Pictures for the decision", "", [][]Picture{{Survival(list)}, each(Frontier), each(Backlog), each(Telemetry), each(Inputs)}},
		{"where", "Where it comes from", "", [][]Picture{each(Losses), each(Fabric), each(WorstMonth), each(BackOff)}},
	}
}

// All are the pictures of one result or two that are there, row by row.
func All(list []*Result) (out []Picture) {
	for _, s := range Sections(list) {
		for _, row := range s.Pictures {
			for _, p := range row {
				if p.There() {
					out = append(out, p)
				}
			}
		}
	}
	return out
}
