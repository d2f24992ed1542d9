// What only a phone can do, as the core asks for it: share a file or copy it, pick one, take a picture, buzz.
//
// The rule: each says how it ended, once; whoever goes back may press again.
import ChalkfaceKit
import PhotosUI
import UIKit
import UniformTypeIdentifiers

@MainActor final class PhoneEffects: EffectDoer {
    private var top: UIViewController? {
        let scenes = UIApplication.shared.connectedScenes.compactMap { $0 as? UIWindowScene }
        var top = scenes.first { $0.activationState == .foregroundActive }?.keyWindow?.rootViewController
        while let over = top?.presentedViewController { top = over }
        return top
    }

    func share(_ file: FileBytes) async -> Ending {
        guard let top else { return .failed(shellWords.noProgram) }
        // One file at a time: another program may still read the last one when its sheet is gone.
        let folder = FileManager.default.temporaryDirectory.appending(path: "shared")
        try? FileManager.default.removeItem(at: folder)
        let place = folder.appending(path: file.name.replacingOccurrences(of: "/", with: "-"))
        do {
            try FileManager.default.createDirectory(at: folder, withIntermediateDirectories: true)
            try file.bytes.write(to: place, options: .completeFileProtection)
        } catch {
            return .failed(error.localizedDescription)
        }
        let sheet = UIActivityViewController(activityItems: [place], applicationActivities: nil)
        // On a wide screen it points at something.
        sheet.popoverPresentationController?.sourceView = top.view
        let once = Once()
        sheet.completionWithItemsHandler = { _, completed, _, _ in once.say(completed) }
        return await once.wait { top.present(sheet, animated: true) } as? Bool == true ? .done : .notNow
    }

    func copy(_ text: String) { UIPasteboard.general.string = text }

    func pickFile(endings: [String]) async -> Ending {
        let types = endings.compactMap { UTType(filenameExtension: $0) }
        if types.contains(where: { $0.conforms(to: .image) }) { return await pickPicture() }
        // Not every ending has a type with the system; what doesn't fit is told by the core.
        let open = UIDocumentPickerViewController(
            forOpeningContentTypes: types.isEmpty || types.count < endings.count ? [.item] : types, asCopy: true)
        guard let picked = await shown(open) as? URL else { return .notNow }
        return await SharedFile.read(picked)
    }

    /// From the person's photographs: the system's picker hands over that one, and asks no permission.
    private func pickPicture() async -> Ending {
        var wanted = PHPickerConfiguration()
        wanted.filter = .images
        let picker = PHPickerViewController(configuration: wanted)
        guard let item = await shown(picker) as? NSItemProvider else { return .notNow }
        let bytes: Data? = await withCheckedContinuation { end in
            item.loadDataRepresentation(forTypeIdentifier: UTType.image.identifier) { data, _ in end.resume(returning: data) }
        }
        return Self.readable(bytes).map { .file(FileBytes(name: "", bytes: $0)) } ?? .failed(shellWords.unreadable)
    }

    func takePicture() async -> Ending {
        guard UIImagePickerController.isSourceTypeAvailable(.camera) else { return await pickPicture() }
        let camera = UIImagePickerController()
        camera.sourceType = .camera
        guard let image = await shown(camera) as? UIImage else { return .notNow }
        return image.jpegData(compressionQuality: 0.95).map { .file(FileBytes(name: "", bytes: $0)) }
            ?? .failed(shellWords.unreadable)
    }

    func buzz() { UINotificationFeedbackGenerator().notificationOccurred(.success) }

    /// JPEG and PNG as they are; what the core can't read (HEIC) is decoded by the system.
    private static func readable(_ bytes: Data?) -> Data? {
        guard let bytes else { return nil }
        let known = bytes.starts(with: [0xFF, 0xD8]) || bytes.starts(with: [0x89, 0x50, 0x4E, 0x47])
        return known ? bytes : UIImage(data: bytes)?.jpegData(compressionQuality: 0.95)
    }

    /// Shows a picker until it ends; with what was found, or nothing.
    private func shown(_ picker: UIViewController) async -> Any? {
        guard let top else { return nil }
        let ended = Ended()
        ended.hear(picker)
        return await ended.once.wait { top.present(picker, animated: true) }
    }
}

/// Hears how a picker ended, of whichever kind.
@MainActor
private final class Ended: NSObject, UIDocumentPickerDelegate, PHPickerViewControllerDelegate,
    UIImagePickerControllerDelegate, UINavigationControllerDelegate, UIAdaptivePresentationControllerDelegate
{
    let once = Once()

    func hear(_ picker: UIViewController) {
        (picker as? UIDocumentPickerViewController)?.delegate = self
        (picker as? PHPickerViewController)?.delegate = self
        (picker as? UIImagePickerController)?.delegate = self
        picker.presentationController?.delegate = self
    }

    func documentPicker(_ controller: UIDocumentPickerViewController, didPickDocumentsAt urls: [URL]) { once.say(urls.first) }

    func documentPickerWasCancelled(_ controller: UIDocumentPickerViewController) { once.say(nil) }

    func picker(_ picker: PHPickerViewController, didFinishPicking results: [PHPickerResult]) {
        picker.dismiss(animated: true)
        once.say(results.first?.itemProvider)
    }

    func imagePickerController(
        _ picker: UIImagePickerController, didFinishPickingMediaWithInfo info: [UIImagePickerController.InfoKey: Any]
    ) {
        picker.dismiss(animated: true)
        once.say(info[.originalImage])
    }

    func imagePickerControllerDidCancel(_ picker: UIImagePickerController) {
        picker.dismiss(animated: true)
        once.say(nil)
    }

    /// It was swiped away.
    func presentationControllerDidDismiss(_ controller: UIPresentationController) { once.say(nil) }
}
