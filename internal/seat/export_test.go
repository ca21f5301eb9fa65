package seat

import (
	"fmt"
	"strings"
)

// ruleName is one name for each row of the tables.
func ruleName(u *rule) string {
	name := fmt.Sprintf("%s %s, %s, class %s", u.source.id, u.part, u.characteristic, strings.Join(u.classes, " "))
	for _, word := range []string{string(u.kind), string(u.rotating), string(u.position), strings.Join(u.loads, " "), string(u.demand)} {
		if word != "" {
			name += ", " + word
		}
	}
	return name + ", " + inWords([]span{u.span})
}

// RuleNames lists every row of every table, in the tables' order.
func RuleNames() []string {
	var names []string
	for i := range tables().rules {
		names = append(names, ruleName(&tables().rules[i]))
	}
	return names
}

// RulesUsed lists the rows that make the proposals of one characteristic.
func RulesUsed(request Request, characteristic string) ([]string, error) {
	r, err := request.checked()
	if err != nil {
		return nil, err
	}
	var names []string
	for i := range tables().rules {
		u := &tables().rules[i]
		if u.source.maker == r.Maker && u.part == r.Part && (u.kind == "" || u.kind == r.Type) && u.characteristic == characteristic && u.forClass(r.Class) && u.suits(r) && u.span.contains(r.Nominal) {
			names = append(names, ruleName(u))
		}
	}
	return names, nil
}
