// One maker a form; the staging holds what they made until all are done.
#include "engine/export/handout.h"

#include <functional>

#include "engine/export/measurements.h"
#include "engine/export/midi.h"
#include "engine/recording/staging.h"
#include "engine/tab/finger_draft.h"

namespace bentline {

namespace fs = std::filesystem;

namespace {

std::string counted(std::size_t n, const char* one) {
    return std::to_string(n) + " " + one + (n == 1 ? "" : "s");
}

class Maker {
  public:
    Maker(const Draft& draft, const Handout& handout) : draft_(draft), handout_(handout) {}

    Result<std::vector<HandedOut>> make(const Work& work) {
        struct Form {
            bool asked;
            std::function<Result<Done>(const Work&)> make;
            double effort;  // in proportion to the others, for the progress
        };
        const std::vector<Form> forms = {
            {handout_.midi.has_value(), [this](const Work&) { return midi(); }, 1.0},
            {handout_.csv.has_value(), [this](const Work& w) { return csv(w); }, 1.0},
        };
        double whole = 0.0;
        for (const Form& form : forms)
            whole += form.asked ? form.effort : 0.0;
        double done = 0.0;
        for (const Form& form : forms) {
            if (!form.asked) continue;
            const double next = done + form.effort / whole;
            if (auto ok = form.make(work.part(done, next)); !ok) return ok.failure();
            if (!work.report(next)) return stopped_failure();
            done = next;
        }
        if (auto ok = staging_.put_in_place(); !ok) return ok.failure();
        return std::move(made_);
    }

  private:
    Result<Done> stage(const fs::path& target, std::string_view bytes, std::string what) {
        if (auto ok = staging_.add(target, bytes); !ok) return ok;
        made_.push_back({target, std::move(what)});
        return Done{};
    }

    // Made once, when the first form needs it.
    Result<const DraftFingering*> fingering(const Work& work) {
        if (!fingering_) {
            auto made = finger_draft(draft_, handout_.which, {}, work);
            if (!made) return made.failure();
            fingering_ = std::move(made).value();
        }
        return &*fingering_;
    }

    std::string notes() const {
        return counted(select_notes(draft_, handout_.which).size(), "note");
    }

    Result<Done> midi() {
        MidiSettings settings;
        settings.plain = handout_.plain;
        settings.which = handout_.which;
        const auto bytes = midi_bytes(draft_, settings);
        if (!bytes) return bytes.failure();
        return stage(*handout_.midi, {reinterpret_cast<const char*>(bytes->data()), bytes->size()},
                     notes());
    }

    Result<Done> csv(const Work& work) {
        const auto fingered = fingering(work);
        if (!fingered) return fingered.failure();
        const auto text = measurements_csv(draft_, handout_.which, **fingered);
        if (!text) return text.failure();
        return stage(*handout_.csv, *text, "measurements of " + notes());
    }

    const Draft& draft_;
    const Handout& handout_;
    std::optional<DraftFingering> fingering_;
    Staging staging_;
    std::vector<HandedOut> made_;
};

}  // namespace

bool Handout::nothing_asked() const {
    return !midi && !csv;
}

std::vector<fs::path> names_taken(const Draft&, const Handout& handout) {
    std::vector<fs::path> taken;
    for (const auto* target : {&handout.midi, &handout.csv}) {
        std::error_code error;
        if (*target && fs::is_regular_file(**target, error) && fs::file_size(**target, error) > 0)
            taken.push_back(**target);
    }
    return taken;
}

Result<std::vector<HandedOut>> hand_out(const Draft& draft, const Handout& handout,
                                        const Work& work) {
    if (!handout.overwrite) {
        const auto taken = names_taken(draft, handout);
        if (!taken.empty()) {
            return Failure{FailureKind::cannot_write,
                           taken.front().string() +
                               " is there already; choose another name, or say that it may be "
                               "written over",
                           {taken.front().string(), {}, {}}};
        }
    }
    return Maker(draft, handout).make(work);
}

Failure nothing_to_hand_out(WhichNotes which) {
    return Failure{
        FailureKind::out_of_range,
        which == WhichNotes::inked
            ? "No note of the draft is inked yet: ink the notes that are right, or write the "
              "pencilled ones too"
            : "The draft has no notes to write: pencil or add some first",
        {}};
}

}  // namespace bentline
