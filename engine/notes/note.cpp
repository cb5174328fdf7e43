// Names of the inflections, as the machine-readable results spell them.
#include "engine/notes/note.h"

#include <array>

namespace bentline {

const char* kind_name(const InflectionKind& what) {
    static constexpr std::array<const char*, std::variant_size_v<InflectionKind>> names = {
        "slide_in", "slide_out", "slide_to_next", "bend", "vibrato", "trill", "staccato", "accent"};
    return names.at(what.index());
}

}  // namespace bentline
