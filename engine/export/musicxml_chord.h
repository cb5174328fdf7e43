// Chord symbols as MusicXML's harmony. Inside engine/export only.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include <pugixml.hpp>

#include "engine/bars/chord.h"

namespace bentline {

struct HarmonyDegree {
    int value = 9;
    int alter = 0;             // from the major scale, the seventh from the minor seventh
    const char* type = "add";  // "add", "alter", "subtract"
    friend bool operator==(const HarmonyDegree&, const HarmonyDegree&) = default;
};

// MusicXML's kind that is nearest to a chord, and what then differs (MusicXML 4.0, kind-value).
struct HarmonyKind {
    std::string kind;
    std::vector<HarmonyDegree> degrees;
};
// chord: not N.C.
HarmonyKind harmony_kind(const Chord& chord);

// <harmony> for a chord symbol as typed, its text beside the kind where the kind says it all, else
// the kind's own text and degrees; an empty node where it is no known chord.
pugi::xml_node add_harmony(pugi::xml_node measure, const std::string& typed);

}  // namespace bentline
