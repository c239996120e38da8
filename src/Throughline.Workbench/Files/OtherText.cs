using Throughline.Workbench.State;

namespace Throughline.Workbench.Files;

/// <summary>A text that can be laid beside an open file, by the word that an address and a choice have for it: <c>saved</c>, <c>git:</c> with a commit, <c>file:</c> with a file of the folder.</summary>
/// <param name="Name">As it is called on a page; empty for a word that means nothing.</param>
/// <param name="Text">Null when it can't be read.</param>
/// <param name="Folder">Where its parts file may be; null for beside the open file.</param>
internal sealed record OtherText(string Name, string? Text, string? Folder = null)
{
    public static async Task<OtherText> OfAsync(Workspace workspace, InstrumentSession session, string word, CancellationToken cancel) => word.Split(':', 2) switch
    {
        ["saved"] => new("the file as it is saved", session.State.SavedText),
        ["git", var id] => new($"commit {id[..Math.Min(8, id.Length)]}", await GitHistory.TextAsync(session.Path, id, cancel)),
        ["file", var file] => workspace.Folder.Find(file) is { } path ? new(file, SafeFile.TryRead(path), Path.GetDirectoryName(path)) : new(file, null),
        _ => new("", null),
    };
}
