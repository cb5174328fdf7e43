// window: intents as lines of a session script.
#include <set>
#include <string>
#include <utility>

#include <doctest/doctest.h>

#include "ui/window/intent.h"

using namespace bentline;
using namespace bentline::window;

namespace {

template <std::size_t... N>
std::set<std::string_view> all_words(std::index_sequence<N...>) {
    return {std::variant_alternative_t<N, AnyIntent>::word...};
}

Intent round_trip(const Intent& intent) {
    const Result<Intent> back = parse_line(to_line(intent));
    REQUIRE_MESSAGE(back.ok(), to_line(intent));
    return *back;
}

template <std::size_t... N>
void check_all(std::index_sequence<N...>) {
    for (const Intent& intent : {Intent(std::variant_alternative_t<N, AnyIntent>{})...}) {
        CHECK(round_trip(intent) == intent);
    }
}

}  // namespace

TEST_CASE("intent: every intent survives its own line") {
    check_all(std::make_index_sequence<std::variant_size_v<AnyIntent>>());
}

TEST_CASE("intent: every intent has a word of its own") {
    constexpr std::size_t count = std::variant_size_v<AnyIntent>;
    CHECK(all_words(std::make_index_sequence<count>()).size() == count);
}

TEST_CASE("intent: values come back exactly, texts with quotes and newlines, too") {
    const Intent loop = intents::LoopOver{Seconds(1.0 / 3.0), Seconds(1e-17)};
    CHECK(round_trip(loop) == loop);
    const Intent path = intents::Open{"a \"b\"\\ c\nd.flac"};
    CHECK(round_trip(path) == path);
    const Intent bend = intents::SetBend{Cents(-52.5), true, false};
    CHECK(to_line(bend) == "bend -52.5 yes no");
    CHECK(round_trip(bend) == bend);
    const Intent edge = intents::MoveNote{Edge::end, Seconds(0.01)};
    CHECK(to_line(edge) == "move end 0.01");
}

TEST_CASE("intent: a line that is none says why") {
    const auto why = [](const char* line) {
        const Result<Intent> r = parse_line(line);
        return r ? std::string() : r.failure().sentence;
    };
    CHECK(why("dance").find("no intent called \"dance\"") != std::string::npos);
    CHECK(why("speed").find("takes 1 value") != std::string::npos);
    CHECK(why("speed fast").find("\"fast\" does not fit") != std::string::npos);
    CHECK(why("speed nan").find("does not fit") != std::string::npos);
    CHECK(why("move sideways 1").find("\"sideways\"") != std::string::npos);
    CHECK(why("open \"half").find("quote") != std::string::npos);
    CHECK(why("   ").find("empty") != std::string::npos);
}
