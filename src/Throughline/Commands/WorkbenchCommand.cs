using System.CommandLine;
using System.Diagnostics;
using System.Runtime.InteropServices;
using Throughline.Output;
using Throughline.Workbench;

namespace Throughline.Commands;

/// <summary><c>workbench [FOLDER]</c>: the instruments of a folder in the browser, served to this machine only.</summary>
internal static class WorkbenchCommand
{
    private const string DefaultFolder = "demo";

    public static Command Create(Surroundings surroundings)
    {
        Argument<string> folder = new(Words.Folder)
        {
            Description = "The folder of instruments to open.",
            HelpName = Words.Folder,
            Arity = ArgumentArity.ZeroOrOne,
            DefaultValueFactory = _ => DefaultFolder,
        };
        Option<int> port = new("--port") { Description = "The port to serve at; a free one when not said.", HelpName = "N" };
        port.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<int>() is < 0 or > 65_535)
            {
                result.AddError("a port is from 0 to 65535.");
            }
        });
        Option<bool> quiet = new("--no-browser") { Description = "Only say the address; open no browser." };
        Command command = new("workbench", "Open the instruments of a folder in the browser; nobody but this machine can reach it.") { folder, port, quiet };
        command.SetAction(parsed =>
        {
            using CancellationTokenSource stop = new();
            using PosixSignalRegistration interrupt = PosixSignalRegistration.Create(PosixSignal.SIGINT, Stop);
            using PosixSignalRegistration terminate = PosixSignalRegistration.Create(PosixSignal.SIGTERM, Stop);
            return RunAsync(surroundings, parsed.GetRequiredValue(folder), parsed.GetValue(port), !parsed.GetValue(quiet), stop.Token).GetAwaiter().GetResult();

            void Stop(PosixSignalContext context)
            {
                context.Cancel = true;
                stop.Cancel();
            }
        });
        return command;
    }

    private static async Task<int> RunAsync(Surroundings surroundings, string folder, int port, bool opensBrowser, CancellationToken cancel)
    {
        WorkbenchServer server;
        try
        {
            server = WorkbenchServer.Create(new WorkbenchOptions
            {
                Folder = folder,
                Port = port,
                FurtherChecks = Engine.FurtherChecks,
                Rehearses = true,
                Template = [.. NewCommand.Files.Select(name => (name, NewCommand.Template(name)))],
            });
        }
        catch (DirectoryNotFoundException)
        {
            return Mistake(surroundings, $"there is no folder {folder}; name one, or make one with: throughline new {folder}");
        }

        await using (server)
        {
            try
            {
                await server.StartAsync(cancel);
            }
            catch (IOException e)
            {
                return Mistake(surroundings, $"port {port} can't be served: {e.Message}");
            }

            string address = server.Address.ToString();
            Page page = Page.ForOutput(surroundings);
            page.Line($"The workbench is at {address}");
            page.Line("Ctrl-C ends it.");
            surroundings.Output.Flush();
            if (opensBrowser)
            {
                OpenBrowser(address);
            }

            try
            {
                await Task.Delay(Timeout.Infinite, cancel);
            }
            catch (OperationCanceledException)
            {
                // Ctrl-C.
            }

            using CancellationTokenSource soon = new(TimeSpan.FromSeconds(2));
            await server.StopAsync(soon.Token);
        }

        return ExitCode.AllMet;
    }

    private static int Mistake(Surroundings surroundings, string sentence)
    {
        Page.ForError(surroundings).Line("throughline: " + sentence);
        return ExitCode.Unreadable;
    }

    /// <summary>A machine without a browser is no mistake: the address has been said.</summary>
    private static void OpenBrowser(string address)
    {
        (string program, string[] words) = OperatingSystem.IsWindows() ? ("cmd", ["/c", "start", "", address])
            : OperatingSystem.IsMacOS() ? ("open", [address])
            : ("xdg-open", new[] { address });
        try
        {
            ProcessStartInfo start = new(program) { UseShellExecute = false, RedirectStandardError = true, RedirectStandardOutput = true };
            foreach (string word in words)
            {
                start.ArgumentList.Add(word);
            }

            using Process? process = Process.Start(start);
        }
        catch (Exception e) when (e is System.ComponentModel.Win32Exception or InvalidOperationException)
        {
            // No such program here.
        }
    }
}
