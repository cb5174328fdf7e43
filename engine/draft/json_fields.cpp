// Reading fields of a JSON object with the place of every mistake.
#include "engine/draft/json_fields.h"

#include <cmath>

namespace bentline {

Fields::Fields(Json object, std::string place)
    : object_(std::move(object)), place_(std::move(place)) {
    if (!object_.is_object()) throw Misfit{place_, "should be an object of named fields"};
}

void Fields::misfit(const char* name, const std::string& sentence) const {
    throw Misfit{place_.empty() ? name : place_ + "." + name, sentence};
}

std::optional<Json> Fields::take(const char* name) {
    const auto at = object_.find(name);
    if (at == object_.end()) return std::nullopt;
    Json value = std::move(*at);
    object_.erase(name);
    return value;
}

std::optional<double> Fields::number(const char* name) {
    const auto value = take(name);
    if (!value) return std::nullopt;
    if (!value->is_number()) misfit(name, "should be a number");
    const double number = value->get<double>();
    if (!std::isfinite(number)) misfit(name, "is too large a number");
    return number;
}

std::optional<int> Fields::whole(const char* name, int lowest, int highest) {
    const auto value = take(name);
    if (!value) return std::nullopt;
    const bool fits = value->is_number_unsigned()
                          ? value->get<std::uint64_t>() <= static_cast<std::uint64_t>(INT64_MAX)
                          : value->is_number_integer();
    if (!fits || value->get<std::int64_t>() < lowest || value->get<std::int64_t>() > highest) {
        misfit(name, "should be a whole number from " + std::to_string(lowest) + " to " +
                         std::to_string(highest));
    }
    return static_cast<int>(value->get<std::int64_t>());
}

std::optional<bool> Fields::flag(const char* name) {
    const auto value = take(name);
    if (!value) return std::nullopt;
    if (!value->is_boolean()) misfit(name, "should be true or false");
    return value->get<bool>();
}

std::optional<std::string> Fields::text(const char* name) {
    auto value = take(name);
    if (!value) return std::nullopt;
    if (!value->is_string()) misfit(name, "should be a text");
    return value->get<std::string>();
}

std::optional<Json> Fields::array(const char* name) {
    auto value = take(name);
    if (value && !value->is_array()) misfit(name, "should be a list");
    return value;
}

std::optional<Fields> Fields::object(const char* name) {
    auto value = take(name);
    if (!value) return std::nullopt;
    return Fields(std::move(*value), place_.empty() ? name : place_ + "." + name);
}

std::optional<Seconds> Fields::seconds(const char* name) {
    const auto value = number(name);
    if (!value) return std::nullopt;
    return Seconds(*value);
}

std::string Fields::unread() const {
    return object_.empty() ? "" : object_.dump();
}

std::string element(const std::string& place, std::size_t i) {
    return place + "[" + std::to_string(i) + "]";
}

}  // namespace bentline
