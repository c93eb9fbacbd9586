// SPDX-License-Identifier: GPL-3.0-or-later
#include <cstring>

#include <expat.h>
#include <fmt/core.h>

#include "cavigram/io/soup_check_detail.h"
#include "cavigram/io/text_detail.h"
#include "cavigram/io/xml_stream_detail.h"

namespace cavigram {

namespace {

constexpr char kBetween = '\n';  // No URI holds a line feed.
constexpr std::size_t kLongestTag = std::size_t{1} << 20;

}  // namespace

// Nothing may be thrown through the C code of the parser, so what a handler throws waits here.
struct XmlStream::Parser {
    XML_Parser xml = nullptr;
    XmlHandler* handler = nullptr;
    std::exception_ptr thrown;
    bool document_type = false;
    std::size_t fed = 0;

    template <class Call>
    void guarded(const Call& call) {
        try {
            if (!thrown) {
                call();
            }
        } catch (...) {
            thrown = std::current_exception();
            XML_StopParser(xml, XML_FALSE);
        }
    }

    static void on_start(void* self, const char* name, const char** attributes) {
        auto& parser = *static_cast<Parser*>(self);
        parser.guarded([&] {
            const char* const between = std::strchr(name, kBetween);
            const std::string_view uri =
                between == nullptr
                    ? std::string_view()
                    : std::string_view(name, static_cast<std::size_t>(between - name));
            parser.handler->start(uri, between == nullptr ? name : between + 1,
                                  XmlAttributes(attributes));
        });
    }
    static void on_end(void* self, const char* /*name*/) {
        auto& parser = *static_cast<Parser*>(self);
        parser.guarded([&] { parser.handler->end(); });
    }
    static void on_namespace(void* self, const char* prefix, const char* uri) {
        auto& parser = *static_cast<Parser*>(self);
        parser.guarded([&] {
            parser.handler->bind(prefix == nullptr ? "" : prefix, uri == nullptr ? "" : uri);
        });
    }
    static void on_document_type(void* self, const char*, const char*, const char*, int) {
        auto& parser = *static_cast<Parser*>(self);
        parser.document_type = true;
        XML_StopParser(parser.xml, XML_FALSE);
    }
};

const char* XmlAttributes::find(std::string_view name) const {
    for (const char** pair = pairs_; *pair != nullptr; pair += 2) {
        if (name == *pair) {
            return pair[1];
        }
    }
    return nullptr;
}

const char* XmlAttributes::find_in(std::string_view part_of_uri, std::string_view name) const {
    for (const char** pair = pairs_; *pair != nullptr; pair += 2) {
        const std::string_view whole = *pair;
        const std::size_t between = whole.find(kBetween);
        if (between != whole.npos && whole.substr(between + 1) == name &&
            whole.substr(0, between).find(part_of_uri) != whole.npos) {
            return pair[1];
        }
    }
    return nullptr;
}

void XmlHandler::bind(std::string_view /*prefix*/, std::string_view /*uri*/) {}

XmlStream::XmlStream(XmlHandler& handler, std::string_view name, std::string_view part)
    : parser_(std::make_unique<Parser>()), name_(name), part_(part) {
    parser_->xml = XML_ParserCreateNS(nullptr, kBetween);
    if (parser_->xml == nullptr) {
        throw std::bad_alloc();
    }
    parser_->handler = &handler;
    XML_SetUserData(parser_->xml, parser_.get());
    XML_SetElementHandler(parser_->xml, Parser::on_start, Parser::on_end);
    XML_SetStartNamespaceDeclHandler(parser_->xml, Parser::on_namespace);
    XML_SetStartDoctypeDeclHandler(parser_->xml, Parser::on_document_type);
}

XmlStream::~XmlStream() {
    XML_ParserFree(parser_->xml);
}

void XmlStream::parse(std::string_view piece, bool last) {
    const XML_Status status =
        XML_Parse(parser_->xml, piece.data(), static_cast<int>(piece.size()), last ? 1 : 0);
    if (parser_->thrown) {
        std::rethrow_exception(parser_->thrown);
    }
    if (parser_->document_type) {
        refuse(name_, "its part " + shown_text(part_) +
                          " has a document type, which no model may; export it again");
    }
    if (status != XML_STATUS_OK) {
        refuse(name_,
               fmt::format("line {} of its part {} is no sound XML ({}); copy or export it again",
                           line(), shown_text(part_),
                           XML_ErrorString(XML_GetErrorCode(parser_->xml))));
    }
    parser_->fed += piece.size();
    const auto read = static_cast<std::size_t>(XML_GetCurrentByteIndex(parser_->xml));
    if (!last && parser_->fed > read + kLongestTag) {
        refuse(name_,
               "its part " + shown_text(part_) + " has a tag longer than 1 MiB; export it again");
    }
}

void XmlStream::feed(std::string_view piece) {
    parse(piece, false);
}

void XmlStream::finish() {
    parse({}, true);
}

std::size_t XmlStream::line() const {
    return static_cast<std::size_t>(XML_GetCurrentLineNumber(parser_->xml));
}

}  // namespace cavigram
