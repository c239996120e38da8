using System.Collections.Frozen;
using System.Collections.Immutable;
using Throughline.Analysis;
using Throughline.Workbench.Files;

namespace Throughline.Workbench.State;

/// <summary>The instruments that are open, one session for each file, whoever looks at it.</summary>
public sealed class Workspace : IDisposable
{
    /// <summary>How often the files are looked at.</summary>
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(500);

    private readonly Lock _lock = new();
    private readonly Dictionary<string, InstrumentSession> _sessions = [];
    private readonly WorkbenchOptions _options;
    private readonly TimeProvider _time;
    private readonly ITimer _look;
    private readonly Rehearsal? _rehearsal;
    private FrozenDictionary<string, CheckDescription>? _checks;

    public Workspace(OpenedFolder folder, WorkbenchOptions options, TimeProvider? time = null)
    {
        Folder = folder;
        _options = options;
        _time = time ?? TimeProvider.System;
        _rehearsal = options.Rehearses ? new Rehearsal(options.FurtherChecks, () => Sessions().All(s => s.IsAtRest)) : null;
        _look = _time.CreateTimer(_ => Look(), null, Interval, Interval);
    }

    public OpenedFolder Folder { get; }

    /// <summary>The checks beside those of the chain.</summary>
    public IReadOnlyList<IFurtherChecks> FurtherChecks => _options.FurtherChecks;

    /// <summary>What the check of a finding says of itself.</summary>
    public CheckDescription? CheckOf(Finding finding) => (_checks ??= CheckReference.Of(_options.FurtherChecks).ToFrozenDictionary(c => c.Name)).GetValueOrDefault(finding.Check);

    /// <summary>The session of a file of the folder; null when there is no such file or it can't be read as text.</summary>
    public InstrumentSession? Open(string name)
    {
        lock (_lock)
        {
            if (_sessions.TryGetValue(name, out InstrumentSession? session))
            {
                return session;
            }

            if (Folder.Find(name) is not { } path || SafeFile.TryRead(path) is not { } text)
            {
                return null;
            }

            session = new InstrumentSession(name, path, text, Folder, _options.FurtherChecks, _time);
            _sessions.Add(name, session);
            _rehearsal?.Begin(name, text, Path.GetDirectoryName(path));
            return session;
        }
    }

    /// <summary>Writes a new instrument into a folder of its own.</summary>
    /// <param name="folder">Its name, in the opened folder.</param>
    /// <returns>The instrument file's name, or what was in the way.</returns>
    public (string? Name, string? Trouble) Create(string folder)
    {
        folder = folder.Trim();
        if (Folder.Free(folder) is not { } path)
        {
            return (null, folder.Length == 0 ? "Give the folder a name."
                : Folder.IsTaken(folder) ? $"There is a file or folder {folder} already."
                : $"{folder} is no name for a folder here: a name has neither \\ nor : and leads to a folder that is there.");
        }

        try
        {
            Directory.CreateDirectory(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return (null, e.Message);
        }

        foreach ((string name, string text) in _options.Template)
        {
            if (SafeFile.TryReplace(Path.Combine(path, name), text) is { } trouble)
            {
                return (null, trouble);
            }
        }

        return ($"{folder}/{_options.Template[0].Name}", null);
    }

    /// <summary>Somebody does something on a page: what is done only in the meantime waits.</summary>
    public void GiveWay() => _rehearsal?.GiveWay();

    public void Dispose()
    {
        _look.Dispose();
        _rehearsal?.Dispose();
        foreach (InstrumentSession session in _sessions.Values)
        {
            session.Dispose();
        }
    }

    private void Look()
    {
        foreach (InstrumentSession session in Sessions())
        {
            session.Look();
        }
    }

    private InstrumentSession[] Sessions()
    {
        lock (_lock)
        {
            return [.. _sessions.Values];
        }
    }
}
