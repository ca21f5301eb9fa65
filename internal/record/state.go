package record

import "runtrue/internal/spindle"

// State is what the set of entries says. It is read-only; folding again after more entries gives a new one.
type State struct {
	Job        *Job
	Items      []*Item // every entry, oldest first by ancestry
	Facts      []*Register
	Components []*ComponentState // by id
	Setups     []*SetupFamily    // by the first set-up's place in the order
	Steps      []*Item           // with effect, in order
	Findings   []*Item
	Decisions  []*Item // on the job as a whole
	// Unread are entries that this program cannot read, Waiting those in quarantine: either holds the whole job.
	Unread  []*Item
	Waiting []ID

	byID      map[ID]*Item
	component map[string]*ComponentState // every id and alias
	feature   map[string]*FeatureState
	family    map[ID]*SetupFamily // every set-up
	settles   []*Item
	one       func(*Item) *Item // the representative of a rework that was reported twice
	undone    []*Item           // reworks that were reported as done and struck
	bears     map[*Item][]*ComponentState
	past      *ancestry // of the set as it was folded
}

// Item is one entry with its effect.
type Item struct {
	*Entry
	// Without is why the entry has no effect, in words; empty: it has.
	Without string
	// StruckBy are the strikes that stand against it.
	StruckBy []*Item
	at       int32 // number in the job
}

// Struck reports whether a strike stands against the entry.
func (i *Item) Struck() bool { return len(i.StruckBy) > 0 }

// Counts reports whether the entry has effect and is not struck.
func (i *Item) Counts() bool { return i.Without == "" && !i.Struck() }

// Register is one fact: its concurrent latest values, and the entries that wrote them.
type Register struct {
	Subject, Field string
	Values         []string
	Items          []*Item
}

// ComponentState is one component with everything that bears on it.
type ComponentState struct {
	ID      string
	Aliases []string // other ids that a person declared to be the same part
	Card    spindle.Component
	Cards   []*Item // concurrent latest entries of the component
	// Features in the order of their names.
	Features []*FeatureState
	Reworks  []*Item
	Findings []*Item // of damage, on the component or one of its features
	// Decisions with effect, in order; Maximal are those that no other has in its past.
	Decisions []*Item
	Maximal   []*Item
	// Objections that stand against the component itself or its evidence, not lifted.
	Objections []*Item
	// Away is the latest rework that was asked or sent and is not done.
	Away *Item
	// Evidence is everything with effect that bears on the component's current rounds.
	Evidence []Evidence
	// Fitted is the latest step that fitted the part and that no removal has seen.
	Fitted *Item

	moved []*FeatureState // features that some specification put on this component, and that hang under another now
}

// Evidence is one entry that bears on a component.
type Evidence struct {
	*Item
	// Confirms is set for entries that may follow a decision without reopening it if they agree: a reading, its set-up, a zero check.
	Confirms bool
	Reading  *ReadingState // where it is a reading of a feature
	Words    string        // for the person: "J1 plane 2 at 120°"
}

// FeatureState is one feature with its specification, rounds and readings.
type FeatureState struct {
	Name      string
	Component *ComponentState
	// Specs are the concurrent latest specifications; more than one with different content conflict.
	Specs    []*Item
	Readings []*ReadingState
	// Reworks that are done and stand, and pairs of them that were reported without knowledge of each other and not settled.
	Reworks   []*Item
	Contested [][2]*Item
	// Concessions with effect, in order, each with whether it applies now.
	Concessions []*ConcessionState
}

// Spec is the specification: the first of the concurrent ones.
func (f *FeatureState) Spec() spindle.Specification {
	return f.Specs[0].Body.(*Specification).Specification
}

// Conflicting reports whether concurrent specifications differ.
func (f *FeatureState) Conflicting() bool {
	for _, s := range f.Specs[1:] {
		if string(bodyBytes(s)) != string(bodyBytes(f.Specs[0])) {
			return true
		}
	}
	return false
}

// ReadingStatus says whether a reading counts.
type ReadingStatus string

// The statuses of a reading.
const (
	ReadingCounts        ReadingStatus = "counts"
	ReadingStruck        ReadingStatus = "struck"
	ReadingEarlierRound  ReadingStatus = "earlier round"
	ReadingUnplaced      ReadingStatus = "unplaced"
	ReadingWithoutEffect ReadingStatus = "without effect"
)

// ReadingState is one reading and whether it counts.
type ReadingState struct {
	*Item
	spindle.Reading
	Status ReadingStatus
	Why    string
	Setup  *SetupFamily // nil for a yes/no point
	// Against is the rework that an unplaced reading was taken before or after.
	Against *Item
}

// ConcessionState is one concession and whether it applies to the present round and specification.
type ConcessionState struct {
	*Item
	Applies bool
	Why     string
}

// SetupFamily is a set-up with its corrections: its first set-up, the constants that stand, and its zero checks.
type SetupFamily struct {
	First *Item
	// Corrections with effect, in order; Latest are those that no other has in its past (the first set-up itself where there is none).
	Corrections []*Item
	Latest      []*Item
	Checks      []*ReadingState
	// Objections that stand against it.
	Objections []*Item
	Struck     bool
	Readings   int
}

// Constants are those that stand for all readings of the family.
func (s *SetupFamily) Constants() spindle.Setup { return s.Latest[0].Body.(*Setup).Setup }

// Conflicting reports whether two corrections were made without knowledge of each other and differ.
func (s *SetupFamily) Conflicting() bool {
	for _, l := range s.Latest[1:] {
		if string(bodyBytes(l)) != string(bodyBytes(s.Latest[0])) {
			return true
		}
	}
	return false
}

func bodyBytes(i *Item) []byte {
	b, err := encode(i.Body)
	if err != nil {
		panic("record: a body that was read cannot be written: " + err.Error())
	}
	return b
}

// Item returns the entry with its effect, or nil.
func (s *State) Item(id ID) *Item { return s.byID[id] }

// Component returns the component of that id or alias, or nil.
func (s *State) Component(id string) *ComponentState { return s.component[id] }

// Feature returns the feature of that name, or nil where it has no specification.
func (s *State) Feature(name string) *FeatureState { return s.feature[name] }

// Saw reports whether x is in the past of e.
func (s *State) Saw(e, x *Item) bool { return s.past.saw(e.at, x.at) }

// JobDecisions returns the latest decisions on the job as a whole: those that no other has in its past.
func (s *State) JobDecisions() []*Item { return s.maximal(s.Decisions) }

// Fact returns the values of a register; nil where nobody wrote it.
func (s *State) Fact(subject, field string) []string {
	for _, r := range s.Facts {
		if r.Subject == subject && r.Field == field {
			return r.Values
		}
	}
	return nil
}

// maximal returns the items that no other of them has in its past, in order.
func (s *State) maximal(items []*Item) []*Item {
	var out []*Item
	for i, a := range items {
		seen := false
		// Only a later entry in the order can have a in its past.
		for k := len(items) - 1; k > i && !seen; k-- {
			seen = s.Saw(items[k], a)
		}
		if !seen {
			out = append(out, a)
		}
	}
	return out
}
