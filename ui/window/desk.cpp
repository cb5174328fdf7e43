// The desk itself: dispatch, the frame's tick, undo, and what all actions share.
#include "ui/window/desk.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>

#include "ui/window/desk_inside.h"
#include "ui/window/keymap.h"
#include "ui/window/remember.h"

namespace bentline::window {

Desk::Desk(const DeskSettings& settings) : inside_(std::make_unique<Inside>(settings)) {}
Desk::~Desk() {
    inside_->pool.stop_all();
    if (!inside_->settings.remember.empty() && inside_->state.remembered != inside_->written) {
        (void)write_remembered(inside_->settings.remember, inside_->state.remembered);
    }
}

const State& Desk::state() const {
    return inside_->state;
}

void Desk::apply(const Intent& intent) {
    std::visit([this](const auto& i) { inside_->on(i); }, intent);
    inside_->remember();
}

void Desk::tick() {
    // Asked first: what has ended by now is among what is collected.
    bool& key_waits = inside_->state.key_waits;
    const bool pencilling = key_waits && inside_->pencils();
    for (const Delivery& delivery : inside_->pool.collect())
        delivery();
    if (key_waits && !pencilling && !inside_->pencils() && !inside_->writing) key_waits = false;
    inside_->tick_player();
    inside_->engrave_look();
    if (const std::string trouble = inside_->keeper.trouble(); !trouble.empty())
        inside_->refuse("The last change is on the desk but not in the journal: " + trouble);
    inside_->state.work.clear();
    for (const JobSeen& job : inside_->pool.seen()) {
        if (!job.words.empty()) inside_->state.work.push_back({job.words, job.share});
    }
}

bool Desk::Inside::pencils() const {
    const std::vector<JobSeen> seen = pool.seen();
    return std::any_of(seen.begin(), seen.end(),
                       [this](const JobSeen& job) { return job.id == pencil_job; });
}

void Desk::wait_for_work() {
    do {
        while (inside_->pool.wait())
            tick();
        tick();  // what was delivered may have begun more
    } while (!inside_->pool.idle());
    inside_->keeper.finish();
}

void Desk::pull(std::span<float> left, std::span<float> right) {
    if (inside_->settings.sound == Sound::by_hand && inside_->device_open) {
        const std::array out{left.data(), right.data()};
        inside_->player->core().process(out, std::min(left.size(), right.size()));
    } else {
        std::ranges::fill(left, 0.0F);
        std::ranges::fill(right, 0.0F);
    }
}

void Desk::set_bench_width(double spaces) {
    inside_->bench_spaces = std::clamp(spaces, 10.0, 2000.0);
}

Result<Done> play_session(Desk& desk, std::istream& script) {
    std::string line;
    for (int number = 1; std::getline(script, line); ++number) {
        const std::size_t first = line.find_first_not_of(" \t\r");
        if (first == std::string::npos || line[first] == '#') continue;
        if (line.back() == '\r') line.pop_back();
        const Result<Intent> intent = parse_line(line);
        if (!intent) {
            Failure failure = intent.failure();
            failure.sentence = "line " + std::to_string(number) + ": " + failure.sentence;
            return failure;
        }
        desk.apply(*intent);
        if (std::holds_alternative<intents::Wait>(*intent)) desk.wait_for_work();
        desk.tick();
    }
    return Done{};
}

Desk::Inside::Inside(const DeskSettings& s) : settings(s) {
    if (!settings.remember.empty()) state.remembered = read_remembered(settings.remember);
    written = state.remembered;
    state.play.device = state.remembered.device;
    state.play.level = Decibels(std::clamp(state.remembered.level_db, -60.0, -12.0));
}

void Desk::Inside::say(std::string sentence) {
    state.notice = Notice{false, std::move(sentence)};
}
void Desk::Inside::refuse(std::string sentence) {
    state.notice = Notice{true, std::move(sentence)};
}
void Desk::Inside::fail(const Failure& failure) {
    if (failure.kind == FailureKind::stopped) {
        say("Stopped; everything is as it was");
    } else {
        refuse(failure.sentence);
    }
}

bool Desk::Inside::edit(const Edit& edit, bool goes_on) {
    if (!history) {
        refuse("There is nothing on the desk yet: open a recording or a draft first");
        return false;
    }
    const Draft before = history->now();
    riding.reset();
    const Result<Done> result = history->edit(edit, goes_on);
    if (!result) {
        fail(result.failure());
        return false;
    }
    // The journal takes what came now; of one step that grew, that is a part only.
    if (!(history->now() == before))
        keep(before, goes_on ? difference(before, history->now(), describe(before, edit))
                             : history->step(history->done() - 1));
    if (state.notice && state.notice->failed) state.notice.reset();
    show_history();
    return true;
}

void Desk::Inside::show_history() {
    state.open = history.has_value();
    if (!history) return;
    state.draft = history->now();
    state.unsaved = history->unsaved();
    state.done.clear();
    state.undone.clear();
    for (std::size_t i = 0; i < history->steps(); ++i) {
        (i < history->done() ? state.done : state.undone).push_back(history->step(i).words);
    }
    if (state.pick && state.draft.notes.find(*state.pick) == nullptr) state.pick.reset();
    write_out();
}

void Desk::Inside::stop_work() {
    pool.stop_all();
    // Their deliveries are dropped with the rest.
    remembering = false;
    engraving_now = false;
    looking_over = false;
    if (std::exchange(writing, false)) write_out();
}

void Desk::Inside::remember() {
    // One write at a time, so that an older one never ends after a newer one.
    if (settings.remember.empty() || remembering || state.remembered == written) return;
    remembering = true;
    pool.start("",
               [this, file = settings.remember, what = state.remembered](const Work&) -> Delivery {
                   // A folder that cannot be written costs the memory of this evening, nothing
                   // else.
                   (void)write_remembered(file, what);
                   return [this, what] {
                       written = what;
                       remembering = false;
                       remember();
                   };
               });
}

void Desk::Inside::on(const intents::Undo&) {
    if (!history || !history->can_undo()) return refuse("There is nothing to undo");
    const Change change = history->step(history->done() - 1);
    say("Undone: " + change.words);
    step_back();
    show_history();
    show_change(change);
}

void Desk::Inside::on(const intents::Redo&) {
    if (!history || !history->can_redo()) return refuse("There is nothing to do again");
    const Change change = history->step(history->done());
    say("Done again: " + change.words);
    step_on();
    show_history();
    show_change(change);
}

int Desk::Inside::top_of(const Note& note) {
    const Bend* bend = find<Bend>(note);
    // Over a bend's arrow there is its size.
    return note.key.value() +
           (bend == nullptr ? 0 : static_cast<int>(std::ceil(bend->size.value() / 100.0)) + 1);
}

void Desk::Inside::show_change(const Change& change) {
    std::optional<SecondsRange> first;
    for (const Change::OfNote& one : change.notes) {
        const Note& note = (one.after ? one.after : one.before)->note;
        const SecondsRange span{note.onset, note.offset};
        if (span.from < state.look.to && state.look.from < span.to) {
            first.reset();  // some of it is seen already
            break;
        }
        if (!first || span.from < first->from) first = span;
    }
    if (first) keep_in_view(*first);
    // A change of one note, which may cut its neighbour: that note is at hand again.
    if (change.notes.empty() || change.notes.size() > 2 || state.play.playing) return;
    for (const Change::OfNote& one : change.notes) {
        const NoteId id = (one.after ? one.after : one.before)->id;
        if (state.draft.notes.find(id) != nullptr) return pick(id);
    }
}

void Desk::Inside::on(const intents::GoBackTo& i) {
    if (!history) return;
    if (i.edits < 0 || static_cast<std::size_t>(i.edits) > history->steps()) {
        return refuse("The list has no line " + std::to_string(i.edits));
    }
    const auto target = static_cast<std::size_t>(i.edits);
    while (history->done() > target)
        step_back();
    while (history->done() < target)
        step_on();
    show_history();
}

void Desk::Inside::on(const intents::Show& i) {
    if (state.kept && i.overlay != Overlay::recovery) {
        // Put away without an answer: nothing is lost, and undo takes it away.
        return on(intents::Recover{true});
    }
    const bool needs_draft = i.overlay == Overlay::history || i.overlay == Overlay::confident ||
                             i.overlay == Overlay::bars || i.overlay == Overlay::hand_out ||
                             i.overlay == Overlay::practice || i.overlay == Overlay::focus;
    if (needs_draft && !state.open) return refuse("Open a recording or a draft first");
    if (i.overlay == Overlay::none) pending.reset();  // asked about, and put away
    riding.reset();
    state.overlay = i.overlay;
    if (i.overlay == Overlay::practice && settings.sound == Sound::device) {
        if (!player) player.emplace();
        state.play.devices.clear();
        for (const SoundDevice& device : player->devices())
            state.play.devices.push_back(device.name);
    }
}

void Desk::Inside::on(const intents::Dismiss&) {
    state.notice.reset();
}

void Desk::Inside::on(const intents::StopWork&) {
    if (pool.idle()) return;
    stop_work();
    say("Stopped; everything is as it was");
}

void Desk::Inside::on(const intents::Wait&) {}

void Desk::Inside::on(const intents::SetPaper& i) {
    state.remembered.dark = i.dark;
}

void Desk::Inside::on(const intents::SetScale& i) {
    state.remembered.scale = std::clamp(i.scale, 0.5, 4.0);
}

void Desk::Inside::on(const intents::BindKey& i) {
    const Command* command = find_command(i.command);
    if (command == nullptr) return refuse("There is no command called " + i.command);
    constexpr std::size_t longest_stroke = 24;
    if (i.stroke.empty() || i.stroke.size() > longest_stroke)
        return refuse("Name the key that is to mean: " + std::string(command->words));
    auto& keys = state.remembered.keys;
    const Command* before = command_of(i.stroke, keys);
    std::erase_if(keys, [&](const auto& own) { return own.second == i.command; });
    if (i.stroke != command->stroke) {
        keys[i.stroke] = i.command;
    } else {
        keys.erase(i.stroke);
    }
    std::string words = stroke_words(i.stroke) + " now means: " + command->words;
    // What it meant until now has lost it, unless it has another.
    if (before != nullptr && before != command && stroke_of(before->name, keys).empty())
        words += std::string(". There is no key now to ") + before->words;
    say(std::move(words));
}

}  // namespace bentline::window
