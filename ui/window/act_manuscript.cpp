// The draft written out and engraved beside the window, pins on strings, and the spectrum.
#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "engine/export/engraving/fonts.h"
#include "engine/score/write_score.h"
#include "engine/sound/played_part.h"
#include "ui/window/desk_inside.h"
#include "ui/window/engrave_around.h"
#include "ui/window/page.h"

namespace bentline::window {

namespace {

// With fewer staff spaces to a beat, heads would lie on one another.
constexpr double fewest_spaces_a_beat = 4.2;

}  // namespace

void Desk::Inside::write_out() {
    if (writing) {
        write_again = true;
        return;
    }
    if (!history) return;
    if (!state.draft.bars || state.draft.notes.empty()) {
        state.written = Written{};
        state.manuscript.reset();
    }
    for (const DraftNote& n : state.draft.notes) {
        // A step of the staff is 12/7 semitones on the average, half a space; over the head some
        // air for its signs. The middle line sounds as B3.
        const double up = (n.note.key.value() - 59) * 7.0 / 24.0 + 1.6;
        state.manuscript_room.above = std::max(state.manuscript_room.above, std::min(up, 12.0));
    }
    writing = true;
    pool.start("", [this, draft = state.draft](const Work& work) -> Delivery {
        const auto all = WhichNotes::inked_and_pencilled;
        VoiceSettings voice;
        voice.which = all;
        auto played = std::make_shared<const PlayedPart>(prepare(draft, voice));
        Written made;
        if (draft.bars && !draft.notes.empty()) {
            Result<Score> score = write_score(draft, all);
            Result<DraftFingering> fingering = finger_draft(draft, all, {}, work);
            if (score && fingering) {
                made.score = std::make_shared<const Score>(std::move(score).value());
                made.fingering =
                    std::make_shared<const DraftFingering>(std::move(fingering).value());
            }
        }
        return [this, made, played] {
            writing = false;
            if (std::exchange(write_again, false)) return write_out();
            state.written = made;
            ++written_version;
            played_part = played;
            send_part();
        };
    });
}

void Desk::Inside::engrave_look() {
    if (engraving_now || !state.written.score || !state.draft.bars) return;
    if (!state.remembered.manuscript || !fonts_trouble.empty()) return;
    const Seconds length = state.look.to - state.look.from;
    const double spaces_a_second = bench_spaces / length.value();
    const Seconds beat =
        beat_length(state.draft.bars->tempo_at(state.draft.bars->beats_at(state.look.from)));
    if (beat.value() * spaces_a_second < fewest_spaces_a_beat) {
        state.manuscript.reset();
        return;
    }
    if (state.manuscript && engraved_version == written_version) {
        const SecondsRange& covers = state.manuscript->covers;
        const bool near = covers.from <= state.look.from && state.look.to <= covers.to;
        const double zoom = state.manuscript->spaces_a_second / spaces_a_second;
        if (near && std::abs(zoom - 1) < 1e-9) return;
    }
    engraving_now = true;
    const SecondsRange around{state.look.from - length, state.look.to + length};
    pool.start("",
               [this, written = state.written, bars = *state.draft.bars, have = fonts, around,
                spaces_a_second, version = written_version](const Work&) -> Delivery {
                   std::shared_ptr<const engraving::Fonts> type = have;
                   if (!type) {
                       Result<engraving::Fonts> read = engraving::load_fonts();
                       if (!read) {
                           return [this, sentence = read.failure().sentence] {
                               engraving_now = false;
                               fonts_trouble = sentence;
                               say("There is no manuscript: " + sentence);
                           };
                       }
                       type = std::make_shared<const engraving::Fonts>(std::move(read).value());
                   }
                   auto line = std::make_shared<const ManuscriptLine>(engrave_around(
                       *written.score, *written.fingering, bars, *type, around, spaces_a_second));
                   return [this, line, type, version] {
                       engraving_now = false;
                       fonts = type;
                       engraved_version = version;
                       if (!state.written.score) return;
                       state.manuscript = line;
                       ManuscriptRoom& room = state.manuscript_room;
                       room.above = std::max(room.above, line->above);
                       room.between = std::max(room.between, line->tab_down);
                   };
               });
}

void Desk::Inside::on(const intents::ShowManuscript& i) {
    state.remembered.manuscript = i.on;
}

void Desk::Inside::on(const intents::StepString& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr || i.steps == 0) return;
    const std::vector<Spot> spots = spots_of(state.draft.neck, note->note.key);
    if (spots.empty()) return refuse("The guitar's neck does not have this pitch");
    if (spots.size() == 1) return refuse("This pitch lies on one string only");
    int string = note->pin ? note->pin->string : spots.front().string;
    if (!note->pin && state.written.fingering) {
        const FingeredNote* now = state.written.fingering->of(note->id);
        if (now != nullptr && now->spot) string = now->spot->string;
    }
    const auto found =
        std::find_if(spots.begin(), spots.end(), [&](const Spot& s) { return s.string == string; });
    const auto count = static_cast<std::ptrdiff_t>(spots.size());
    const std::ptrdiff_t at = found == spots.end() ? 0 : found - spots.begin();
    // Spots begin with string 1, the thinnest; round at the ends.
    const std::ptrdiff_t next = ((at - i.steps) % count + count) % count;
    edit(SetPin{{note->id}, Pin{spots[static_cast<std::size_t>(next)].string, std::nullopt}});
}

void Desk::Inside::on(const intents::SetString& i) {
    const DraftNote* note = note_or_say();
    if (note == nullptr) return;
    const std::vector<Spot> spots = spots_of(state.draft.neck, note->note.key);
    const bool there = std::any_of(spots.begin(), spots.end(),
                                   [&](const Spot& s) { return s.string == i.string; });
    if (!there)
        return refuse("String " + std::to_string(i.string) + " does not have this note's pitch");
    edit(SetPin{{note->id}, Pin{i.string, std::nullopt}});
}

void Desk::Inside::on(const intents::AnyString&) {
    if (const DraftNote* note = note_or_say()) edit(SetPin{{note->id}, std::nullopt});
}

void Desk::Inside::on(const intents::ShowSpectrum& i) {
    state.spectrum_shown = i.on;
    if (i.on && !state.heard.spectrum) make_spectrum();
}

void Desk::Inside::make_spectrum() {
    if (!audio) return;
    pool.stop(spectrum_job);
    spectrum_job = pool.start(
        "Measuring the spectrum",
        [this, sound = audio](const Work& work) -> Delivery {
            Result<Spectrum> made = bentline::window::make_spectrum(*sound, work);
            if (!made) return [this, f = made.failure()] { fail(f); };
            auto spectrum = std::make_shared<const Spectrum>(std::move(made).value());
            return [this, spectrum] { state.heard.spectrum = spectrum; };
        },
        Pace::patient);
}

}  // namespace bentline::window
