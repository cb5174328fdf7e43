// libzip into memory, with a fixed date.
#include "engine/export/mxl.h"

#include <memory>

#include <zip.h>

#include "engine/export/xml_text.h"

namespace bentline {
namespace {

// 1 January 1980, the first day that zip archives know.
constexpr zip_uint16_t first_day = (1U << 5U) | 1U;

std::string container(const std::string& name) {
    pugi::xml_document document;
    pugi::xml_node declaration = document.append_child(pugi::node_declaration);
    with(declaration, "version", "1.0");
    with(declaration, "encoding", "UTF-8");
    pugi::xml_node file =
        document.append_child("container").append_child("rootfiles").append_child("rootfile");
    with(file, "full-path", xml_safe(name));
    with(file, "media-type", "application/vnd.recordare.musicxml+xml");
    return to_text(document);
}

Failure refused() {
    return Failure{FailureKind::cannot_write,
                   "the MusicXML could not be compressed; hand it out as .musicxml",
                   {}};
}

bool add(zip_t* archive, const std::string& name, std::string_view bytes, bool packed) {
    zip_source_t* source = zip_source_buffer(archive, bytes.data(), bytes.size(), 0);
    if (source == nullptr) return false;
    const zip_int64_t index = zip_file_add(archive, name.c_str(), source, ZIP_FL_ENC_UTF_8);
    if (index < 0) {
        zip_source_free(source);
        return false;
    }
    const auto at = static_cast<zip_uint64_t>(index);
    return zip_set_file_compression(archive, at, packed ? ZIP_CM_DEFLATE : ZIP_CM_STORE, 9) == 0 &&
           zip_file_set_dostime(archive, at, 0, first_day, 0) == 0;
}

}  // namespace

Result<std::string> compressed_musicxml(std::string_view document, const std::string& name) {
    zip_error_t error;
    zip_error_init(&error);
    const std::unique_ptr<zip_source_t, void (*)(zip_source_t*)> whole(
        zip_source_buffer_create(nullptr, 0, 0, &error), zip_source_free);
    if (!whole) return refused();
    zip_source_keep(whole.get());  // the archive takes one hold of it and lets go on closing
    zip_t* archive = zip_open_from_source(whole.get(), ZIP_TRUNCATE, &error);
    if (archive == nullptr) {
        zip_source_free(whole.get());
        return refused();
    }
    const std::string index = container(name);
    // The kind of file first and unpacked, so that it can be told from its first bytes.
    if (!add(archive, "mimetype", "application/vnd.recordare.musicxml", false) ||
        !add(archive, "META-INF/container.xml", index, true) ||
        !add(archive, name, document, true)) {
        zip_discard(archive);
        return refused();
    }
    if (zip_close(archive) != 0) {
        zip_discard(archive);
        return refused();
    }
    if (zip_source_open(whole.get()) != 0) return refused();
    zip_source_seek(whole.get(), 0, SEEK_END);
    const zip_int64_t size = zip_source_tell(whole.get());
    zip_source_seek(whole.get(), 0, SEEK_SET);
    std::string bytes(static_cast<std::size_t>(std::max<zip_int64_t>(size, 0)), '\0');
    const zip_int64_t got = zip_source_read(whole.get(), bytes.data(), bytes.size());
    zip_source_close(whole.get());
    if (size <= 0 || got != size) return refused();
    return bytes;
}

}  // namespace bentline
