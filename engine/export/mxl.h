// Compressed MusicXML (.mxl): the document in a zip archive, found through META-INF/container.xml.
// Source: MusicXML 4.0, "Compressed .mxl files". The same document gives the same bytes. [any]
#pragma once

#include <string>
#include <string_view>

#include "engine/result.h"

namespace bentline {

// document: MusicXML as text. name: of the document inside, "score.musicxml". Fails with
// cannot_write where the archive cannot be made (memory).
Result<std::string> compressed_musicxml(std::string_view document,
                                        const std::string& name = "score.musicxml");

}  // namespace bentline
