// SPDX-License-Identifier: MIT
#include "firmware_host/report/pdf_attachments.hpp"

#include <qpdf/Buffer.hh>
#include <qpdf/QPDF.hh>
#include <qpdf/QPDFEFStreamObjectHelper.hh>
#include <qpdf/QPDFEmbeddedFileDocumentHelper.hh>
#include <qpdf/QPDFFileSpecObjectHelper.hh>
#include <qpdf/QPDFWriter.hh>

#include <memory>

namespace benchward::report {

std::string with_attachments(std::string const& pdf, Report const& report) {
  QPDF document;
  document.processMemoryFile("report", pdf.data(), pdf.size());
  auto root = document.getRoot();
  root.replaceKey("/Lang", QPDFObjectHandle::newUnicodeString(report.language));
  QPDFEmbeddedFileDocumentHelper files(document);
  std::string const day =
      "D:" + report.issued.substr(0, 4) + report.issued.substr(5, 2) + report.issued.substr(8, 2) + "000000Z";
  for (auto const& attachment : report.attachments) {
    auto stream = QPDFEFStreamObjectHelper::createEFStream(document, attachment.bytes);
    stream.setSubtype(attachment.type).setCreationDate(day).setModDate(day);
    auto spec = QPDFFileSpecObjectHelper::createFileSpec(document, attachment.name, stream);
    spec.setDescription(attachment.description);
    files.replaceEmbeddedFile(attachment.name, spec);
  }
  QPDFWriter writer(document);
  writer.setOutputMemory();
  writer.setDeterministicID(true);
  writer.setObjectStreamMode(qpdf_o_disable);
  writer.write();
  std::shared_ptr<Buffer> const buffer = writer.getBufferSharedPointer();
  return std::string(reinterpret_cast<char const*>(buffer->getBuffer()), buffer->getSize());
}

}  // namespace benchward::report
