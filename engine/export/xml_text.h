// Small helpers over pugixml. Inside engine/export only.
#pragma once

#include <string>
#include <string_view>

#include <pugixml.hpp>

namespace bentline {

// Text that XML 1.0 can hold (2.2, Char): without control characters; bytes that are no UTF-8
// become U+FFFD.
std::string xml_safe(std::string_view text);

// <name>text</name>
inline pugi::xml_node add_text(pugi::xml_node parent, const char* name, const std::string& text) {
    pugi::xml_node child = parent.append_child(name);
    child.text().set(text.c_str());
    return child;
}
inline pugi::xml_node add_text(pugi::xml_node parent, const char* name, long long number) {
    return add_text(parent, name, std::to_string(number));
}
// name="text"
inline pugi::xml_node with(pugi::xml_node node, const char* name, const std::string& text) {
    node.append_attribute(name).set_value(text.c_str());
    return node;
}

// The document as UTF-8 text, indented.
std::string to_text(const pugi::xml_document& document);

}  // namespace bentline
