package record

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"runtrue/internal/spindle"
)

// Shop is the shop's own record, folded: who may do what, which gauges and masters there are, the settings.
type Shop struct {
	Name     string            `json:"name"`
	People   []Person          `json:"people"`
	Gauges   []spindle.Gauge   `json:"gauges"`
	Masters  []spindle.Master  `json:"masters"`
	Settings map[string]string `json:"settings"`
	// Faults are cards that could not be read or that two people wrote differently, in words.
	Faults []string `json:"faults"`

	grants []grantState
}

// Person is one person with the roles held now.
type Person struct {
	ID    string         `json:"id"`
	Name  string         `json:"name"`
	Roles []spindle.Role `json:"roles"`
}

type grantState struct {
	item      *Item
	body      *Grant
	withdrawn []*Item
}

// FoldShop folds the shop's record. Facts of the shop: subject "shop", field "name" and settings by their names; subject "person/ID", field "name";
// subjects "gauge/ID" and "master/ID", field "card", whose value is the JSON of a [spindle.Gauge] or [spindle.Master].
func FoldShop(j *Job) *Shop {
	s := Fold(j)
	shop := &Shop{Name: "", People: []Person{}, Gauges: []spindle.Gauge{}, Masters: []spindle.Master{}, Settings: map[string]string{}, Faults: []string{}}
	shop.foldGrants(s)
	names := map[string]string{}
	for _, r := range s.Facts {
		if len(r.Values) > 1 {
			shop.Faults = append(shop.Faults, fmt.Sprintf("%s %s was written differently by two people: %s", r.Subject, r.Field, strings.Join(r.Values, " · ")))
		}
		value := r.Values[0]
		what, id, _ := strings.Cut(r.Subject, "/")
		switch {
		case r.Subject == ShopJob && r.Field == "name":
			shop.Name = value
		case r.Subject == ShopJob:
			shop.Settings[r.Field] = value
		case what == "person" && r.Field == "name":
			names[id] = value
		case what == "gauge" && r.Field == "card" && value != "":
			shop.Gauges = readCard(shop, shop.Gauges, r.Subject, value)
		case what == "master" && r.Field == "card" && value != "":
			shop.Masters = readCard(shop, shop.Masters, r.Subject, value)
		}
	}
	ids := make([]string, 0, len(names))
	for id := range names {
		ids = append(ids, id)
	}
	for _, g := range shop.grants {
		if !slices.Contains(ids, g.body.Person) {
			ids = append(ids, g.body.Person)
		}
	}
	slices.Sort(ids)
	for _, id := range ids {
		p := Person{ID: id, Name: cmp.Or(names[id], id), Roles: []spindle.Role{}}
		for _, role := range spindle.Roles() {
			if _, ok := shop.GrantOf(id, role, 0); ok {
				p.Roles = append(p.Roles, role)
			}
		}
		shop.People = append(shop.People, p)
	}
	return shop
}

func readCard[T any](shop *Shop, list []T, subject, value string) []T {
	var card T
	dec := json.NewDecoder(strings.NewReader(value))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&card); err != nil {
		shop.Faults = append(shop.Faults, fmt.Sprintf("the card of %s cannot be read: %v", subject, err))
		return list
	}
	return append(list, card)
}

// foldGrants finds the grants with effect: given by the server (the first admin) or by somebody who held the role of admin by a grant in the entry's past.
func (shop *Shop) foldGrants(s *State) {
	effective := map[ID]*grantState{}
	for _, item := range s.Items {
		b, ok := item.Body.(*Grant)
		if !ok || item.Without != "" {
			continue
		}
		if item.As == spindle.Admin {
			by := effective[item.Grant]
			if by == nil || by.body.Role != spindle.Admin || by.body.Person != item.By || !s.Saw(item, by.item) {
				item.Without = "the grant of the role admin that it names does not stand"
				continue
			}
		}
		if !b.Withdraws.IsZero() {
			if target := effective[b.Withdraws]; target != nil {
				target.withdrawn = append(target.withdrawn, item)
			}
			continue
		}
		effective[item.ID] = &grantState{item: item, body: b}
	}
	for _, item := range s.Items {
		if g := effective[item.ID]; g != nil {
			shop.grants = append(shop.grants, *g)
		}
	}
}

// GrantOf returns the grant by which the person holds the role at a time (milliseconds; 0: leaving dates aside), if any.
func (shop *Shop) GrantOf(person string, role spindle.Role, atMS int64) (ID, bool) {
	for _, g := range shop.grants {
		if g.body.Person != person || g.body.Role != role || len(g.withdrawn) > 0 {
			continue
		}
		if atMS != 0 && (atMS < g.body.From || g.body.Until != 0 && atMS > g.body.Until) {
			continue
		}
		return g.item.ID, true
	}
	return ID{}, false
}

// Withdrawn reports whether the grant was taken back, and whether that includes what was done under it earlier. An unknown grant counts as withdrawn.
func (shop *Shop) Withdrawn(grant ID) (withdrawn, includingEarlier bool) {
	for _, g := range shop.grants {
		if g.item.ID != grant {
			continue
		}
		for _, w := range g.withdrawn {
			includingEarlier = includingEarlier || w.Body.(*Grant).IncludingEarlier
		}
		return len(g.withdrawn) > 0, includingEarlier
	}
	return true, false
}
