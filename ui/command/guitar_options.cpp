// Tuning, capo and frets, checked by the engine.
#include "ui/command/guitar_options.h"

namespace bentline::command {

void add_guitar(CLI::App& verb, GuitarOptions& options) {
    verb.add_option("--tuning", options.tuning,
                    "The guitar's open strings, lowest first: \"D A D G B E\"")
        ->type_name("NOTES");
    verb.add_option("--capo", options.capo, "The fret that the capo is on; 0: none")
        ->type_name("N");
    verb.add_option("--frets", options.frets, "How many frets the guitar has")->type_name("N");
}

Result<Neck> neck_of(const GuitarOptions& options, const Neck& before) {
    const int capo = options.capo.value_or(before.capo);
    const int frets = options.frets.value_or(before.frets);
    if (options.tuning) return parse_tuning(*options.tuning, capo, frets);
    return make_neck(before.open, capo, frets);
}

}  // namespace bentline::command
