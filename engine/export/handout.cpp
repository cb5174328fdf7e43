// One maker a form; the staging holds what they made until all are done.
#include "engine/export/handout.h"

#include <functional>

#include "engine/ending.h"
#include "engine/export/clips.h"
#include "engine/export/draft_sheet.h"
#include "engine/export/measurements.h"
#include "engine/export/midi.h"
#include "engine/export/musicxml.h"
#include "engine/export/mxl.h"
#include "engine/export/text_tab.h"
#include "engine/recording/staging.h"
#include "engine/score/write_score.h"
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
            {handout_.musicxml.has_value(), [this](const Work& w) { return musicxml(w); }, 1.0},
            {handout_.csv.has_value(), [this](const Work& w) { return csv(w); }, 1.0},
            {handout_.text_tab.has_value(), [this](const Work& w) { return tab(w); }, 1.0},
            {handout_.sheet.has_value(), [this](const Work& w) { return sheet(w); }, 2.0},
            {handout_.clips.has_value(), [this](const Work& w) { return clips(w); }, 200.0},
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

    // needed_by: the form, as its sentence names it.
    Result<const Score*> score(const char* needed_by) {
        if (select_notes(draft_, handout_.which).empty())
            return nothing_to_hand_out(draft_, handout_.which);
        if (!score_) {
            auto made = write_score(draft_, handout_.which);
            if (!made) {
                Failure failure = made.failure();
                failure.sentence = std::string(needed_by) + " needs a score: " + failure.sentence;
                return failure;
            }
            score_ = std::move(made).value();
        }
        return &*score_;
    }

    std::string notes() const {
        return counted(select_notes(draft_, handout_.which).size(), "note");
    }
    // "212 notes, 3 of them without string and fret (bar 5, bar 9, …)"
    std::string fingered_notes() const {
        std::string text = notes();
        if (fingering_->left_out() == 0) return text;
        text += ", " + std::to_string(fingering_->left_out()) + " without string and fret (";
        constexpr int most_named = 3;
        int named = 0;
        for (std::size_t i = 0; i < fingering_->ids.size() && named <= most_named; ++i) {
            if (fingering_->fingering.notes[i].spot) continue;
            const DraftNote* note = draft_.notes.find(fingering_->ids[i]);
            if (named > 0) text += ", ";
            text += named == most_named ? "\u2026" : place_name(note->note.onset, draft_.bars);
            ++named;
        }
        return text + ")";
    }

    Result<Done> musicxml(const Work& work) {
        const auto written = score("MusicXML");
        if (!written) return written.failure();
        const auto fingered = fingering(work);
        if (!fingered) return fingered.failure();
        MusicXmlSettings settings;
        settings.plain = handout_.plain;
        settings.recording = fs::path(draft_.recording.path).filename().string();
        std::string text = musicxml_text(**written, **fingered, settings);
        if (small_ending(*handout_.musicxml) == ".mxl") {
            auto packed = compressed_musicxml(text);
            if (!packed) return packed.failure();
            text = std::move(packed).value();
        }
        return stage(*handout_.musicxml, text, fingered_notes());
    }

    Result<Done> tab(const Work& work) {
        const auto written = score("Text tablature");
        if (!written) return written.failure();
        const auto fingered = fingering(work);
        if (!fingered) return fingered.failure();
        TextTabSettings settings;
        settings.plain = handout_.plain;
        return stage(*handout_.text_tab, text_tab(**written, **fingered, settings),
                     fingered_notes());
    }

    Result<Done> clips(const Work& work) {
        const auto plans = plan_clips(draft_, handout_.which);
        if (plans.empty()) return nothing_to_hand_out(draft_, handout_.which);
        auto recording = Recording::open(draft_.recording.path);
        if (!recording) {
            Failure failure = recording.failure();
            failure.sentence = "clips are cut from the recording: " + failure.sentence;
            return failure;
        }
        auto folder = staging_.add_folder(*handout_.clips);
        if (!folder) return folder.failure();
        auto written = write_planned_clips(plans, *recording, *folder, work);
        if (!written) return written.failure();
        if (*written == 0) {
            return Failure{FailureKind::out_of_range,
                           "no bar of the draft lies inside the recording, so there is nothing to "
                           "cut clips from; check where bar 1 is",
                           {}};
        }
        made_.push_back({*handout_.clips, counted(static_cast<std::size_t>(*written), "clip")});
        return Done{};
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

    Result<Done> sheet(const Work& work) {
        const auto format = sheet_format(*handout_.sheet);
        if (!format) return format.failure();
        const auto written = score("A sheet");
        if (!written) return written.failure();
        const auto fingered = fingering(work);
        if (!fingered) return fingered.failure();
        const auto bytes = draft_sheet(draft_, **written, **fingered, *format,
                                       {handout_.plain, handout_.engraving});
        if (!bytes) return bytes.failure();
        return stage(*handout_.sheet, *bytes, fingered_notes());
    }

    const Draft& draft_;
    const Handout& handout_;
    std::optional<DraftFingering> fingering_;
    std::optional<Score> score_;
    Staging staging_;
    std::vector<HandedOut> made_;
};

}  // namespace

bool Handout::nothing_asked() const {
    return !midi && !musicxml && !csv && !text_tab && !sheet && !clips;
}

std::vector<fs::path> targets_of(const Handout& handout) {
    std::vector<fs::path> targets;
    for (const auto* target :
         {&handout.midi, &handout.musicxml, &handout.csv, &handout.text_tab, &handout.sheet}) {
        if (*target) targets.push_back(**target);
    }
    return targets;
}

std::vector<fs::path> names_taken(const Draft& draft, const Handout& handout) {
    std::vector<fs::path> taken;
    const auto look = [&](const fs::path& target) {
        std::error_code error;
        if (fs::is_regular_file(target, error) && fs::file_size(target, error) > 0)
            taken.push_back(target);
    };
    for (const fs::path& target : targets_of(handout))
        look(target);
    if (handout.clips) {
        for (const ClipPlan& plan : plan_clips(draft, handout.which)) {
            for (const int percent : clip_speeds)
                look(*handout.clips / clip_file(plan, percent));
        }
    }
    return taken;
}

Result<std::vector<HandedOut>> hand_out(const Draft& draft, const Handout& handout,
                                        const Work& work) {
    for (const fs::path& target : targets_of(handout)) {
        if (auto ok = check_apart(target, draft.recording.path); !ok) return ok.failure();
    }
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

Failure nothing_to_hand_out(const Draft& draft, WhichNotes which) {
    return Failure{
        FailureKind::out_of_range,
        which == WhichNotes::inked && !draft.notes.empty()
            ? "No note of the draft is inked yet: ink the notes that are right, or write the "
              "pencilled ones too"
            : "The draft has no notes to write: pencil or add some first",
        {}};
}

}  // namespace bentline
