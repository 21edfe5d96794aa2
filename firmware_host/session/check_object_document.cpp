// SPDX-License-Identifier: MIT
#include "firmware_host/session/check_object_document.hpp"

#include <array>
#include <utility>

#include "limits/documents/document_error.hpp"
#include "limits/documents/json_reader.hpp"
#include "limits/documents/unit_document.hpp"

namespace benchward {

CheckObject read_check_object(std::string const& path) {
  auto const json = documents::parse_json(documents::read_text_file(path), path);
  documents::ObjectReader reader(json, path);
  CheckObject object;
  object.unit = parse_unit(reader.raw("unit", "the object's data, as in a unit document").dump(), path + ", unit");
  static constexpr std::array metals{documents::Word<Metal>{"copper", Metal::copper},
                                     documents::Word<Metal>{"aluminum", Metal::aluminum}};
  for (auto& entry : reader.objects("declared")) {
    DeclaredValue declared;
    declared.test = entry.text("test");
    declared.quantity = entry.text("quantity");
    declared.at = entry.text_or("at", "");
    declared.value = entry.number("value", "a number");
    declared.limit = entry.number("limit", "the largest deviation of a reading, above zero");
    if (!(declared.limit > 0.0))
      throw DocumentError("bench.check-object", path, entry.path_of("limit"), "expected a limit above zero");
    declared.unit = entry.text("unit");
    declared.instrument = entry.text("instrument");
    declared.at_c = entry.optional_number("at_c", "degrees Celsius");
    declared.metal = entry.optional_word("metal", metals);
    if (declared.at_c.has_value() != declared.metal.has_value())
      throw DocumentError("bench.check-object", path, entry.path_of("at_c"),
                          "a resistance at a temperature needs both at_c and metal");
    entry.finish();
    object.declared.push_back(std::move(declared));
  }
  reader.finish();
  if (object.declared.empty())
    throw DocumentError("bench.check-object", path, "/declared", "expected at least one declared value");
  return object;
}

}  // namespace benchward
