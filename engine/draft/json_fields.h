// Reading fields of a JSON object with the place of every mistake. Used by the readers of this
// folder.
//
// A field that was read is taken out of the object, so that what remains is what this version does
// not know. Mistakes throw Misfit, which never leaves the folder.
#pragma once

#include <optional>
#include <string>

#include <nlohmann/json.hpp>

#include "engine/units.h"

namespace bentline {

// Keeps the order of the fields as written.
using Json = nlohmann::ordered_json;

// Something in the file that does not fit. place: "notes[12].onset_s".
struct Misfit {
    std::string place;
    std::string sentence;  // "should be a number"
};

class Fields {
  public:
    // The object is used up by reading. Throws where it is none.
    Fields(Json object, std::string place);

    bool has(const char* name) const { return object_.contains(name); }
    // Empty where the field is not there; throws where it is of another type.
    std::optional<double> number(const char* name);
    std::optional<int> whole(const char* name, int lowest, int highest);
    std::optional<bool> flag(const char* name);
    std::optional<std::string> text(const char* name);
    std::optional<Json> array(const char* name);
    std::optional<Fields> object(const char* name);
    std::optional<Seconds> seconds(const char* name);

    // The value of a field that must be there.
    template <class T>
    T need(std::optional<T> value, const char* name) const {
        if (!value) misfit(name, "is missing");
        return std::move(*value);
    }
    [[noreturn]] void misfit(const char* name, const std::string& sentence) const;

    const std::string& place() const { return place_; }
    // What was not read, as JSON text; empty where everything was.
    std::string unread() const;

  private:
    std::optional<Json> take(const char* name);
    Json object_;
    std::string place_;
};

// "notes" and 12: "notes[12]".
std::string element(const std::string& place, std::size_t i);

}  // namespace bentline
