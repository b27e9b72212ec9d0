package laws

func ownParts(root *node) bool {
	any := false
	for _, m := range root.section("sensors") {
		p := root.get("parts", m.value.str("part"))
		if p == nil {
			continue
		}
		id := "own" + m.key
		root.get("parts").set(id, p.clone())
		m.value.set("part", ref(id))
		any = true
	}
	return any
}

func ownReadouts(root *node) bool {
	r := root.get("readout")
	if r == nil || r.get("channels") != nil {
		return false
	}
	channels := obj()
	for _, m := range root.section("sensors") {
		channels.set(m.key, r.clone())
	}
	root.set("readout", obj("channels", channels))
	return true
}

func ownNeeds(root *node) bool {
	common := root.get("needs", "all")
	if common == nil {
		return false
	}
	needs := root.get("needs")
	needs.drop("all")
	for _, m := range root.section("sensors") {
		n := common.clone()
		for _, own := range needs.section(m.key) {
			n.set(own.key, own.value)
		}
		needs.set(m.key, n)
	}
	return true
}
